package main

import (
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"slices"
	"time"
)

// The bill of materials: SPDX 2.3 as JSON (spdx.github.io/spdx-spec/v2.3, its schema
// schemas/spdx-schema.json). Names of fields are the standard's.
type document struct {
	SPDXVersion   string         `json:"spdxVersion"`
	DataLicense   string         `json:"dataLicense"`
	SPDXID        string         `json:"SPDXID"`
	Name          string         `json:"name"`
	Namespace     string         `json:"documentNamespace"`
	Created       creation       `json:"creationInfo"`
	Packages      []spdxPackage  `json:"packages"`
	Relationships []relationship `json:"relationships"`
}

type creation struct {
	Created  string   `json:"created"`
	Creators []string `json:"creators"`
}

type spdxPackage struct {
	SPDXID    string     `json:"SPDXID"`
	Name      string     `json:"name"`
	Version   string     `json:"versionInfo,omitempty"`
	FileName  string     `json:"packageFileName,omitempty"`
	From      string     `json:"downloadLocation"`
	Analyzed  bool       `json:"filesAnalyzed"`
	Checksums []checksum `json:"checksums,omitempty"`
	Concluded string     `json:"licenseConcluded"`
	Declared  string     `json:"licenseDeclared"`
	Copyright string     `json:"copyrightText"`
	Refs      []outside  `json:"externalRefs,omitempty"`
}

type checksum struct {
	Algorithm string `json:"algorithm"`
	Value     string `json:"checksumValue"`
}

type outside struct {
	Category string `json:"referenceCategory"`
	Type     string `json:"referenceType"`
	Locator  string `json:"referenceLocator"`
}

type relationship struct {
	Of   string `json:"spdxElementId"`
	Type string `json:"relationshipType"`
	To   string `json:"relatedSpdxElement"`
}

const documentID = "SPDXRef-DOCUMENT"

// bill is the bill of materials of some binaries and their parts: of the same ones, the
// same bytes. It fails where it cannot be written as JSON, which is never.
func (r release) bill(binaries []made, parts []part) ([]byte, error) {
	d := document{
		SPDXVersion: "SPDX-2.3", DataLicense: "CC0-1.0", SPDXID: documentID, Name: "tallywalk-" + r.version,
		Created: creation{r.at.Format(time.RFC3339), []string{"Tool: tallywalk-pack-" + r.version}},
	}
	content := sha256.New()
	for i, b := range binaries {
		id := fmt.Sprintf("SPDXRef-binary-%d", i+1)
		d.Packages = append(d.Packages, spdxPackage{
			SPDXID: id, Name: own, Version: r.version + "+" + r.commit, FileName: b.name, From: "NOASSERTION",
			Checksums: []checksum{{"SHA256", b.sum}},
			Concluded: "Apache-2.0", Declared: "Apache-2.0", Copyright: "NOASSERTION",
		})
		d.Relationships = append(d.Relationships, relationship{documentID, "DESCRIBES", id})
		// A hash does not fail.
		_, _ = fmt.Fprintln(content, b.name, b.sum)
	}
	for i, p := range parts {
		id := fmt.Sprintf("SPDXRef-part-%d", i+1)
		made := spdxPackage{
			SPDXID: id, Name: p.name, Version: p.version, From: p.from,
			Concluded: p.licence, Declared: p.licence, Copyright: "NOASSERTION",
		}
		if p.purl != "" {
			made.Refs = []outside{{"PACKAGE-MANAGER", "purl", p.purl}}
		}
		d.Packages = append(d.Packages, made)
		for j, b := range binaries {
			if p.in == nil || slices.Contains(p.in, b.name) {
				of := fmt.Sprintf("SPDXRef-binary-%d", j+1)
				d.Relationships = append(d.Relationships, relationship{of, "CONTAINS", id})
			}
		}
	}
	d.Namespace = "urn:uuid:" + uuidOf(content.Sum(nil))
	text, err := json.MarshalIndent(d, "", "  ")
	return append(text, '\n'), err
}

// uuidOf makes a UUID of a hash: version 8 of RFC 9562, 5.8, whose bits are one's own.
func uuidOf(sum []byte) string {
	id := slices.Clone(sum[:16])
	id[6] = id[6]&0x0f | 0x80
	id[8] = id[8]&0x3f | 0x80
	return fmt.Sprintf("%x-%x-%x-%x-%x", id[:4], id[4:6], id[6:8], id[8:10], id[10:])
}
