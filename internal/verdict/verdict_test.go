package verdict

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/schema"
)

func TestWorstFollowsTheScale(t *testing.T) {
	require.Equal(t, Go, Worst())
	require.Equal(t, Go, Worst(""), "an empty level is a go")
	for i, l := range scale {
		require.Equal(t, i, l.Rank())
		for j, m := range scale {
			require.Equal(t, scale[max(i, j)], Worst(l, m))
		}
	}
	require.Panics(t, func() { Level("perhaps").Rank() })
	require.Equal(t, "not yet", NotYet.Phrase())
	require.Equal(t, "do not pour as planned", DoNotPour.Phrase())
}

func TestReasonsCombine(t *testing.T) {
	var r, other Reasons
	require.Equal(t, Go, r.Level())
	require.NotNil(t, r.Sorted())
	r.Add(Fill, Care, "pour 20 K hotter", "about 1 in %d", 5)
	r.Add(Fill, Care, "pour 20 K hotter", "about 1 in %d", 5)
	other.Add(Scrap, NotYet, "dry it", "the filings are wet")
	r.Join(other, other)
	require.Len(t, r, 2, "each once")
	require.Equal(t, NotYet, r.Level())
	require.Equal(t, []Part{Scrap, Fill}, []Part{r.Sorted()[0].Part, r.Sorted()[1].Part}, "worst first")
	require.Equal(t, Reason{Fill, Care, "about 1 in 5", "pour 20 K hotter"}, r[0])
	r.Add(Melt, Care, "", "50 % full")
	require.Equal(t, "50 % full", r[2].Why, "a text without arguments is not a format")
}

func TestTagsAreTheScale(t *testing.T) {
	field := func(name string) string {
		return strings.Join(schema.For[Reason]().Field(name).Enum, ",")
	}
	require.Equal(t, Enum, field("verdict"))
	require.Equal(t, Parts, field("part"))
	levels := make([]string, len(scale))
	for i, l := range scale {
		levels[i] = string(l)
	}
	require.Equal(t, Enum, strings.Join(levels, ","))
}
