package storetest_test

import (
	"testing"

	"shimwright/ingest/journal"
	"shimwright/ingest/store"
	"shimwright/ingest/store/storetest"
)

func TestOverAJournal(t *testing.T) {
	storetest.Run(t, func(_ *testing.T, j *journal.Journal) store.Store { return j.Reader })
}
