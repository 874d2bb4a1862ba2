// Package shop is a shop's PostgreSQL as benches and boards meet it: how it is
// reached and with whose password, what its troubles are called, its tables by
// versioned migrations, and who may do what in it.
//
// # Who may do what
//
// Tables belong to the role that prepared the shop. A bench's role has no right
// to any table: it may call the functions take, follow, anew, head, kept and say,
// and each of them looks in bench_head whether the role that called may act for
// that bench. Functions rather than row level security, because a batch must lock its
// bench's head, hold the chain to its hashes and write facts and rows in one go:
// as a policy each of these would be a right to a table, given to every bench. A
// board's role may read and do nothing else.
package shop
