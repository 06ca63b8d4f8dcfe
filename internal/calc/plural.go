package calc

// Plural is the word for so many: one, or many.
func Plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}
