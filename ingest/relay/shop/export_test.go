package shop

// Migrations are for tests that begin with an older form.
func Migrations() []string { return migrations() }
