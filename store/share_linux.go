package store

import "golang.org/x/sys/unix"

// shares are the file systems of other computers, by their numbers in linux/magic.h and
// the kernel's own sources.
var shares = map[int64]string{
	0x6969: "NFS", 0xff534d42: "CIFS", 0xfe534d42: "SMB", 0x517b: "SMB", 0x564c: "NCP",
	0x5346414f: "AFS", 0x6b414653: "AFS", 0x73757245: "Coda", 0x00c36400: "Ceph", 0x01021997: "9P",
}

// shareOf names the kind of network share that a folder lies on; empty when it lies on
// a disk of this computer, or that cannot be known.
func shareOf(dir string) string {
	var s unix.Statfs_t
	if unix.Statfs(dir, &s) != nil {
		return ""
	}
	return shares[s.Type&0xffffffff]
}
