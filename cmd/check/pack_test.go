package main

import (
	"context"
	"debug/elf"
	"debug/macho"
	"debug/pe"
	"encoding/binary"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Heads of files by the formats' own numbers: ELF-64 (gABI, chapter 4), PE/COFF
// (Microsoft's specification, 3 and 3.3: 0x8664 is x64) and Mach-O 64 (its loader.h).
func elfHead(machine elf.Machine) []byte {
	h := make([]byte, 64)
	copy(h, "\x7fELF\x02\x01\x01")
	binary.LittleEndian.PutUint16(h[16:], 2)
	binary.LittleEndian.PutUint16(h[18:], uint16(machine))
	binary.LittleEndian.PutUint32(h[20:], 1)
	binary.LittleEndian.PutUint16(h[52:], 64)
	binary.LittleEndian.PutUint16(h[54:], 56)
	binary.LittleEndian.PutUint16(h[58:], 64)
	return h
}

func peHead(machine uint16) []byte {
	h := make([]byte, 512)
	copy(h, "MZ")
	binary.LittleEndian.PutUint32(h[0x3c:], 0x80)
	copy(h[0x80:], "PE\x00\x00")
	binary.LittleEndian.PutUint16(h[0x84:], machine)
	return h
}

func machoHead(cpu macho.Cpu) []byte {
	h := make([]byte, 32)
	binary.LittleEndian.PutUint32(h, 0xfeedfacf)
	binary.LittleEndian.PutUint32(h[4:], uint32(cpu))
	binary.LittleEndian.PutUint32(h[12:], 2)
	return h
}

func TestHeaderFault(t *testing.T) {
	dir := t.TempDir()
	for _, test := range []struct {
		name, want string
		head       []byte
	}{
		{"t-1-linux-amd64", "", elfHead(elf.EM_X86_64)},
		{"t-1-linux-arm64", "", elfHead(elf.EM_AARCH64)},
		{"t-1-windows-amd64.exe", "", peHead(pe.IMAGE_FILE_MACHINE_AMD64)},
		{"t-1-darwin-amd64", "", machoHead(macho.CpuAmd64)},
		{"t-1-darwin-arm64", "", machoHead(macho.CpuArm64)},
		{"u-1-linux-arm64", "is for \"linux-amd64\"", elfHead(elf.EM_X86_64)},
		{"u-1-linux-amd64", "is for \"\"", elfHead(elf.EM_RISCV)},
		{"u-1-windows-amd64.exe", "is for \"windows-arm64.exe\"", peHead(pe.IMAGE_FILE_MACHINE_ARM64)},
		{"u-1-darwin-arm64", "is for \"darwin-amd64\"", machoHead(macho.CpuAmd64)},
		{"v-1-darwin-arm64", "no program for macOS", elfHead(elf.EM_X86_64)},
		{"v-1-windows-amd64.exe", "no program for Windows", elfHead(elf.EM_X86_64)},
		{"v-1-linux-amd64", "no Linux program", machoHead(macho.CpuAmd64)},
	} {
		path := filepath.Join(dir, test.name)
		if err := os.WriteFile(path, test.head, 0o600); err != nil {
			t.Fatal(err)
		}
		err := headerFault(path)
		if test.want == "" && err != nil ||
			test.want != "" && (err == nil || !strings.Contains(err.Error(), test.want)) {
			t.Errorf("%s: %v, want %q", test.name, err, test.want)
		}
	}
}

// A program that says something else than its version, or nothing of an address, does not
// pass for one that starts.
func TestStartsIsStrict(t *testing.T) {
	script := filepath.Join(t.TempDir(), "program")
	for text, want := range map[string]string{
		"#!/bin/sh\necho tallywalk 1.0.0\n": "version said",
		"#!/bin/sh\nexit 1\n":               "version said",
		"#!/bin/sh\n[ $1 = version ] && echo t, commit checked && exit\necho hello\n":   "the server said \"hello",
		"#!/bin/sh\n[ $1 = version ] && echo t, commit checked && exit\nexec sleep 0\n": "the server said nothing",
	} {
		if err := os.WriteFile(script, []byte(text), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := starts(context.Background(), script, t.TempDir()); err == nil ||
			!strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", text, err)
		}
	}
}
