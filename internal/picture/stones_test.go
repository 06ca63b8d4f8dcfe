package picture_test

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"pourwright/internal/calc"
	"pourwright/internal/picture"
	"pourwright/internal/section"
	"pourwright/internal/stone"
	"regexp"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// The drawing as a browser shows it at 96 dots per inch: the 50 mm bar, the
// strip and the stones are true to 0.1 mm. Needs a browser; skipped without.
func TestStonesAreTrueInABrowser(t *testing.T) {
	browser, err := exec.LookPath("chromium")
	if err != nil || testing.Short() {
		t.Skip("no browser at hand")
	}
	in := layout(stone.LayoutStone{Cut: stone.RoundBrilliant, LengthMM: 3, Quantity: 5})
	out, err := stone.Lay(t.Context(), in)
	require.NoError(t, err)
	svg, err := picture.DrawStones(in, out).SVG()
	require.NoError(t, err)
	page := fmt.Sprintf(`<html><body style="margin:0">%s<pre></pre><script>
document.querySelector("pre").textContent = [...document.querySelectorAll("svg path, svg circle, svg ellipse, svg line, svg rect")]
	.map(e => "w" + e.getBoundingClientRect().width * 25.4 / 96).join("\n")</script></body></html>`, svg)
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "page.html"), []byte(page), 0o644))
	ctx, stop := context.WithTimeout(context.Background(), 30*time.Second)
	defer stop()
	dom, err := exec.CommandContext(ctx, browser, "--headless", "--no-sandbox", "--disable-gpu", "--user-data-dir="+dir, "--dump-dom", "file://"+filepath.Join(dir, "page.html")).Output()
	require.NoError(t, err)
	var widths []float64
	for _, m := range regexp.MustCompile(`\bw([0-9.]+)\b`).FindAllSubmatch(dom, -1) {
		w, err := strconv.ParseFloat(string(m[1]), 64)
		require.NoError(t, err)
		widths = append(widths, w)
	}
	count := func(mm float64) (n int) {
		for _, w := range widths {
			if w > mm-0.1 && w < mm+0.1 {
				n++
			}
		}
		return n
	}
	require.Equal(t, 1, count(50), "%v", widths)
	require.GreaterOrEqual(t, count(out.CircumferenceMM), 1)
	require.GreaterOrEqual(t, count(3), 5)
	require.Equal(t, 1, count(62), "the inside of the piece")
}

// layout is stones evenly round an invented bangle of 62 mm.
func layout(stones ...stone.LayoutStone) stone.LayoutIn {
	in := calc.Default[stone.LayoutIn]()
	in.InsideDiameterMM, in.HeadMM = 62, 70
	in.Profile = section.Uniform(section.Section{Shape: section.Rectangular, ThicknessMM: 2.5, WidthMM: 8})
	in.Stones = stones
	return in
}

func TestStonesLook(t *testing.T) {
	in := layout(stone.LayoutStone{Cut: stone.RoundBrilliant, LengthMM: 1.5, Quantity: 12})
	in.VentsDeg = []float64{165, 195}
	in.Rows = "both_halves"
	in.GapMM = 0.3
	in.Pattern, in.Clusters = "clusters", 2
	out, err := stone.Lay(t.Context(), in)
	require.NoError(t, err)
	see(t, "stones", picture.DrawStones(in, out), nil)
}
