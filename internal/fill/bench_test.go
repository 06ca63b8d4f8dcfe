package fill

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// BenchmarkFollow: one piece without improvements, and with.
func BenchmarkFollow(b *testing.B) {
	rows, err := practice()
	require.NoError(b, err)
	for _, help := range []bool{false, true} {
		name := "plain"
		if help {
			name = "improvements"
		}
		b.Run(name, func(b *testing.B) {
			for range b.N {
				in, err := rows[3].Cases[0].input(0)
				require.NoError(b, err)
				in.Improvements = help
				_, err = Follow(b.Context(), in)
				require.NoError(b, err)
			}
		})
	}
}

func BenchmarkMember(b *testing.B) {
	rows, err := practice()
	require.NoError(b, err)
	for _, r := range rows[3:7] {
		for _, c := range r.Cases {
			b.Run(r.Row+" "+c.Name, func(b *testing.B) {
				in, err := c.input(0)
				require.NoError(b, err)
				j, err := prepare(b.Context(), in)
				require.NoError(b, err)
				w := new(run)
				steps := 0
				for n := range b.N {
					w.follow(j, j.pour(j.studio(n%studios), points.pour[n%members][:]))
					w.judge(nil)
					steps += w.Steps
				}
				b.ReportMetric(float64(steps)/float64(b.N), "steps/op")
			})
		}
	}
}

// BenchmarkShared: three bars on one runner, and three times a bar by itself.
func BenchmarkShared(b *testing.B) {
	b.Run("one_flask", func(b *testing.B) {
		s := onRunner("standing", bar(1.5), bar(1.5), bar(1.5))
		for b.Loop() {
			_, err := FollowShared(b.Context(), s, none)
			require.NoError(b, err)
		}
	})
	b.Run("three_flasks", func(b *testing.B) {
		in := bar(1.5)
		in.SprueLengthMM = 20
		for b.Loop() {
			for range 3 {
				_, err := Follow(b.Context(), in)
				require.NoError(b, err)
			}
		}
	})
}
