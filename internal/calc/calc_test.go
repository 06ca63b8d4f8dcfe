package calc

import (
	"context"
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestNotesAreOrderedAndUnique(t *testing.T) {
	n := Noting(context.Background())
	n.Warn("a", Note, "x")
	n.Warn("b", Danger, "x")
	n.Warn("c", Care, "x")
	n.Warn("b", Danger, "x")
	n.Warn("d", Danger, "y")
	codes := ""
	for _, c := range n.Cautions {
		codes += c.Code
	}
	require.Equal(t, "bdca", codes, "worst first, else as they came, each once")

	s := Source{For: "x", Text: "y", Status: Practice}
	n.Cite(s, s)
	require.Len(t, n.Sources, 1)
}

func TestSilentNotesKeepNoWorking(t *testing.T) {
	n := Noting(Silent(context.Background()))
	n.Step("mass", 1, "g", "1 × 1")
	require.Empty(t, n.Working)
}

func TestAdoptNamesTheSteps(t *testing.T) {
	inner, outer := Noting(context.Background()), Noting(context.Background())
	inner.Step("mass", 1, "g", "1 × 1")
	inner.Warn("b", Danger, "x")
	outer.Adopt("bangle", inner)
	require.Equal(t, "bangle: mass", outer.Working[0].What)
	require.Len(t, outer.Cautions, 1)
}

func TestRefusalsMoveUnderTheirPlace(t *testing.T) {
	err := Under("pieces[0]", Refuse("mass_g", -1, "give %d or more", 0))
	require.EqualError(t, err, "pieces[0].mass_g: -1 refused; give 0 or more")
	require.NoError(t, Under("x", nil))
	other := errors.New("other")
	require.Equal(t, other, Under("x", other))

	var c Checks
	require.True(t, c.Under("lots[1]", nil))
	require.False(t, c.Under("lots[1]", Refuse("", 3, "give 2")))
	c.Within("x_mm", 5, 0, 1, "mm")
	require.EqualError(t, c.Err(), "lots[1]: 3 refused; give 2; x_mm: 5 refused; give 0 to 1 mm")
	var none Checks
	require.NoError(t, none.Err())
}

func TestNearest(t *testing.T) {
	known := []string{"mass_g", "reserve_g", "alloy"}
	require.Equal(t, "mass_g", Nearest("Mass_g", known))
	require.Equal(t, "alloy", Nearest("aloy", known))
	require.Empty(t, Nearest("colour_of_the_flask", known))
	// A name longer than any is compared with none: a caller's of a megabyte would
	// cost a second each.
	long := strings.Repeat("k", maxNear)
	require.Equal(t, long, Nearest(long, []string{long}))
	require.Empty(t, Nearest(long+"k", []string{long + "k"}))
}
