package journal

import (
	"context"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
)

// Follows tells whether a fact's own hash is the one that its content and the
// hash of the fact before it give. It reads nothing, so that facts carried
// elsewhere can be held to it.
func (s Stored) Follows(before Hash) bool { return s.Hash == link(before, s) }

// HashBefore is the hash of the fact before the one numbered seq: of the first
// fact, the hash that the chain begins with. ErrDamaged where it is missing.
func (r *Reader) HashBefore(ctx context.Context, seq int64) (Hash, error) {
	if seq == 1 {
		return r.first, nil
	}
	var got []byte
	err := r.db.QueryRowContext(ctx, `SELECT hash FROM fact WHERE seq = ?`, seq-1).Scan(&got)
	if errors.Is(err, sql.ErrNoRows) || err == nil && len(got) != len(Hash{}) {
		return Hash{}, &Break{r.path, seq - 1, "it is missing, or its hash is not whole"}
	}
	if err != nil {
		return Hash{}, explain(r.path, "reading the hash before a fact", err)
	}
	return Hash(got), nil
}

// ParseHash reads the 64 hexadecimal digits that String writes.
func ParseHash(s string) (Hash, error) {
	b, err := hex.DecodeString(s)
	if err != nil || len(b) != len(Hash{}) {
		return Hash{}, fmt.Errorf("%s is no hash: it has 64 digits 0-9 a-f", quote(s))
	}
	return Hash(b), nil
}
