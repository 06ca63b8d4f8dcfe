package papers

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/ledger"
)

func ptr[T any](v T) *T { return &v }

// full is an order that strains the sheets: long names, twelve lots, forty
// stones, text from the right and without spaces. All of it is invented.
func full() In {
	in := calc.Default[In]()
	long := strings.Repeat("a very long name of a spoon with a twisted stem ", 3)
	in.Studio, in.Client, in.Reference, in.Date = strings.Repeat("workshop in the yard ", 8), "משה לדוגמה / مثال طويل للاسم / 見本の長い名前", "27-A", "2026-11-25"
	in.Pieces, in.Metal = []string{"bangle", "pendant", "pair of rings"}, "sterling silver"
	for i := range 12 {
		what := []string{long[:min(len(long), 140)], "כפות ישנות", "古い銀の匙六本", "ملاعق قديمة"}[i%4]
		in.Lots = append(in.Lots, PaperLot{What: what, MassG: 10.5 + float64(i), Mark: strings.Repeat("unbroken", 12)})
	}
	for i := range 40 {
		in.Stones = append(in.Stones, PaperStone{What: []string{"blue stone, said to be sapphire, from a ring", "青い石", "אבן כחולה"}[i%3], Quantity: 1 + i%3,
			LengthMM: ptr(1.5 + float64(i)/10), Colour: "grey blue with a green tinge", Condition: "small chip at the girdle", Plan: []string{"cast_in_place", "set_after_casting", "give_back", "not_decided"}[i%4]})
	}
	fine := func(v float64) *float64 { return &v }
	in.Account = &ledger.ReconciliationIn{
		In:  []ledger.Entry{{ID: "spoons", Kind: "scrap", MassG: 60, FinenessPermil: fine(830)}, {ID: "grain", Kind: "bought", MassG: 15, FinenessPermil: fine(999)}},
		Out: []ledger.Entry{{Kind: "casting", MassG: 40.1}, {Kind: "button", MassG: 34.2}}}
	return in
}

func TestPapersTellAllThatWasGiven(t *testing.T) {
	in := full()
	out, err := Papers(context.Background(), in)
	require.NoError(t, err)
	require.Len(t, out.Papers, 4)
	told := fmt.Sprint(out.Papers)
	for _, l := range in.Lots {
		require.Contains(t, told, l.What)
		require.Contains(t, told, fmt.Sprintf("%.2f", l.MassG))
	}
	for _, s := range in.Stones {
		require.Contains(t, told, s.What)
		require.Contains(t, told, s.size())
	}
	require.Contains(t, out.Papers[0].Parts[1].Text[0], "192.00 g", "12 × 10.5 + 66")
	for _, p := range out.Papers {
		require.Contains(t, fmt.Sprint(p), lawDecides)
		for _, part := range p.Parts {
			for _, row := range part.Rows {
				require.Len(t, row, len(part.Heads))
				require.Len(t, part.shares, len(part.Heads))
			}
		}
	}
}

// TestAccountBalances: what each owner is given and still due is what they
// gave less their loss, in fine metal.
func TestAccountBalances(t *testing.T) {
	out, err := Papers(context.Background(), full())
	require.NoError(t, err)
	for _, o := range out.Account.Owners {
		require.InDelta(t, o.FineInG-o.FineLossG, o.FineTaken+o.FineDueG, 1e-9)
	}
}

func TestConsentListsOnlyStonesToBeCast(t *testing.T) {
	out, err := Papers(context.Background(), full())
	require.NoError(t, err)
	rows := out.Papers[1].Parts[2].Rows
	require.Len(t, rows, 10)
	for _, row := range rows {
		require.Equal(t, "cast in place", row[6])
	}
}

func TestPDFIsTheSameEachTime(t *testing.T) {
	for _, paper := range []string{"a4", "letter"} {
		in := full()
		in.Paper = paper
		out, err := Papers(context.Background(), in)
		require.NoError(t, err)
		a, err := PDF(context.Background(), in, out)
		require.NoError(t, err)
		b, err := PDF(context.Background(), in, out)
		require.NoError(t, err)
		require.True(t, bytes.Equal(a, b))
		require.Equal(t, "%PDF-", string(a[:5]))
		if dir := os.Getenv("LOOK"); dir != "" { // to look at
			require.NoError(t, os.WriteFile(dir+"/papers-"+paper+".pdf", a, 0o600))
		}
	}
}

func TestRefusals(t *testing.T) {
	in := full()
	in.Account, in.Which = nil, []string{"hand_back"}
	_, err := Papers(context.Background(), in)
	require.ErrorContains(t, err, "account")
	in = full()
	in.Lots[3].MassG = -1
	_, err = Papers(context.Background(), in)
	require.ErrorContains(t, err, "lots[3].mass_g")
	in = full()
	in.Account.In[0].MassG = -1
	_, err = Papers(context.Background(), in)
	require.ErrorContains(t, err, "account.in[0].mass_g")
}

// Nobody signs a consent to a stone that must not be cast in place.
func TestNoConsentToARefusedStone(t *testing.T) {
	for what, gem := range map[string]string{"a pearl, grey": "", "two opals": "", "white stone": "turquoise"} {
		in := calc.Default[In]()
		s := calc.Default[PaperStone]()
		s.What, s.Gem, s.Plan = what, gem, "cast_in_place"
		in.Client, in.Stones = "C", []PaperStone{s}
		_, err := Papers(context.Background(), in)
		require.ErrorContains(t, err, "stones[0].plan", what)
		require.ErrorContains(t, err, "is not cast in place")
		in.Stones[0].Plan = "set_after_casting"
		_, err = Papers(context.Background(), in)
		require.NoError(t, err)
	}
	in := calc.Default[In]()
	s := calc.Default[PaperStone]()
	s.What, s.Plan = "blue stone, said to be sapphire, opaline sheen", "cast_in_place"
	in.Client, in.Stones = "C", []PaperStone{s}
	_, err := Papers(context.Background(), in)
	require.NoError(t, err)
}
