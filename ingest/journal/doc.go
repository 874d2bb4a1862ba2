// Package journal keeps a bench's facts: an append-only list in one SQLite
// file, written by one program at a time and chained by SHA-256.
//
// It does not know what a fact means. A Record is a subject ("job/2041",
// "gauge/D07", "bench"), a kind, a version of that kind's form and a payload.
// The payload's bytes are stored, hashed and given back exactly as they came;
// nothing here decodes or re-encodes them.
//
// # What holds
//
//   - Append returns only after its transaction is committed and fsync has
//     returned. What it returned is acknowledged, and is never taken back.
//   - The records of one Append are stored all together or not at all.
//   - Sequence numbers run 1, 2, 3 without a gap, in the order of commits.
//   - A stored fact is never changed or removed. The code has no statement that
//     does it, and triggers in the file refuse it from anyone else's SQL.
//   - An error of Append means that nothing was stored, with one exception:
//     ErrUnsure, when the disk failed during the commit itself. Then the records
//     are there in whole or not at all, a new Open shows which, and this Journal
//     takes nothing more.
//   - A cancelled context stops Append only while it waits for its turn. Once
//     its transaction has begun it runs to its end, so "cancelled" always means
//     "not stored".
//   - Read, Subjects and Verify's walk fetch short pages and hold no transaction
//     while the caller works. A read transaction left open would keep the
//     write-ahead log from being reused, and it would grow without limit. Only
//     the last part of Verify, SQLite's own check of its pages and index, is
//     one transaction, about a second for a million facts.
//
// # Rows that follow
//
// Two tables beside the facts, job and judgement, follow from them by a rule that
// the caller gives (store.Rule): the journal still does not know what a fact
// means. They are written in the transaction of the facts they follow from, are
// no part of the chain, and are made anew whenever another version of the rule
// made them, or where that is asked for (Options.Anew). VerifyAll works them anew
// beside the chain and says which of them do not follow from the facts.
//
// What somebody folded of long lists of facts may be kept beside them too (Kept):
// also no part of the chain, and left aside where its last fact is not the
// journal's. VerifyAll folds it anew.
//
// # What is trusted, and what was tried
//
// Durability is fsync's: the file system and the disk must keep what they said
// they keep when fsync returned. On macOS the full flush is asked for by pragma,
// because a plain fsync there stops at the disk's own cache; the package was
// built for macOS and Windows but never run there. A disk that lies about
// flushing, and a network file system, are outside this promise: keep the journal
// on a local disk.
//
// A program killed at any instant (SIGKILL) is part of the tests: each
// acknowledged fact is found again, once, and the chain is whole. Loss of power
// is not tested: it rests on SQLite's write-ahead log with synchronous=FULL and
// on the trust above.
//
// # What the chain shows
//
// Each fact's hash covers the one before it (chain.go gives the bytes), so
// Verify finds a changed byte, a removed fact, facts exchanged, and says at which
// sequence number. It shows damage and careless edits. It is no proof against
// the disk's owner, who can write the whole chain anew, nor does it show that
// facts are missing at the end, unless the last hash is kept elsewhere too: on
// the printed record, and with the shop's relay.
//
// # The files
//
// Beside PATH lie PATH-wal and PATH-shm, SQLite's own, while a program has the
// journal open, and also after it was killed, met a full disk, or when a Reader
// was the last to close. The newest facts may be in PATH-wal alone, so a copy of
// PATH without it may lack them. PATH.lock is where the writing program holds an
// operating-system lock and says who it is. It is a file of its own because on
// Unix closing any other descriptor of PATH would drop the locks that SQLite
// holds on it: never open PATH in this program except through this package. The
// lock file is never removed; the lock ends with the process, however it ends.
//
// Reading wants PATH-shm too. Where neither it nor facts in PATH-wal lie beside the
// file and its folder may not be written, a Reader takes the file as it lies
// (SQLite's immutable), and ends with ErrBusy once anybody has written in it.
package journal
