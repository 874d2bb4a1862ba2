package journal

import (
	"crypto/sha256"
	"encoding/binary"
	"time"
)

// The bytes that are hashed. Whole numbers are big-endian; "text" is a 4-byte
// length followed by that many bytes, so that no two facts share one spelling.
//
//	hash(n) = SHA-256( hash(n-1) || header || payload )
//
//	header =  1 byte   1, the form of this header
//	          8 bytes  sequence number
//	          8 bytes  UTC in microseconds since 1970-01-01, two's complement
//	          8 bytes  nanoseconds since the run opened the journal, two's complement
//	          4 bytes  version of the kind
//	          text     run
//	          text     subject
//	          text     kind
//	          4 bytes  length of the payload
//
//	hash(0) = SHA-256( "shimwright journal 1\n" || text bench ||
//	                   8 bytes: UTC in microseconds when the journal was made )
const (
	headerForm = 1
	originMark = "shimwright journal 1\n"
)

// origin is hash(0). It ties the chain to one journal of one bench.
func origin(bench string, made time.Time) Hash {
	b := appendText([]byte(originMark), bench)
	b = binary.BigEndian.AppendUint64(b, uint64(made.UnixMicro()))
	return sha256.Sum256(b)
}

// link is the hash of s when prev is the hash of the fact before it. It does
// not look at s.Hash.
func link(prev Hash, s Stored) Hash {
	h := sha256.New()
	h.Write(prev[:])
	h.Write(header(s))
	h.Write(s.Payload)
	var sum Hash
	h.Sum(sum[:0])
	return sum
}

func header(s Stored) []byte {
	b := make([]byte, 0, 64+len(s.Run)+len(s.Subject)+len(s.Kind))
	b = append(b, headerForm)
	b = binary.BigEndian.AppendUint64(b, uint64(s.Seq))
	b = binary.BigEndian.AppendUint64(b, uint64(s.UTC.UnixMicro()))
	b = binary.BigEndian.AppendUint64(b, uint64(s.SinceRun))
	b = binary.BigEndian.AppendUint32(b, uint32(s.Version))
	b = appendText(b, s.Run)
	b = appendText(b, s.Subject)
	b = appendText(b, s.Kind)
	return binary.BigEndian.AppendUint32(b, uint32(len(s.Payload)))
}

func appendText(b []byte, s string) []byte {
	b = binary.BigEndian.AppendUint32(b, uint32(len(s)))
	return append(b, s...)
}
