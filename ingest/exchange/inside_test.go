package exchange

// PlainDecimal is for tests from outside.
func PlainDecimal(s string, shift int) (string, error) { return plainDecimal(s, shift) }
