package wire

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// TestInertCells: what a spreadsheet could take for a formula comes behind an
// apostrophe, the full-width marks and a leading newline too.
func TestInertCells(t *testing.T) {
	for _, cell := range []string{"=1", "@a", "+a", "-a", "\tx", "\rx", "\n=1", "＝1", "＋1", "－1", "＠a"} {
		require.Equal(t, "'"+cell, Inert(cell))
	}
	for _, cell := range []string{"", "-1.5", "+2", "a=1", "ä", "－"[:2]} {
		require.Equal(t, cell, Inert(cell))
	}
}
