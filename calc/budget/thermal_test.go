package budget_test

import (
	"testing"

	"shimwright/calc/stat/checktest"
)

func thermalRows(t *testing.T) []checktest.Row { return nil }
