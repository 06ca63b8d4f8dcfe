package commission

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"

	"pourwright/internal/calc"
	"pourwright/internal/wire"
)

// TestAPlainRingIsShort: the plan of a plain ring without working is under 8 kB, says
// no figure of a part twice and leaves nothing empty in the parts but what a maker
// looks for.
func TestAPlainRingIsShort(t *testing.T) {
	in := read(t, `{"lots": [{"id": "old spoons", "mass_g": 60, "alloy": "silver-925", "owner": "client"}],
		"pieces": [{"name": "ring", "kind": "ring", "ring_system": "us", "ring_size": "7", "thickness_mm": 2, "width_mm": 4}]}`)
	out, err := Plan(calc.Silent(ctx), in)
	require.NoError(t, err)
	out.Sources = []calc.Source{} // left out with working=false
	body, err := wire.JSON(out)
	require.NoError(t, err)
	require.Less(t, len(body), 8000)

	// What a maker works by stands in it.
	var plan struct {
		Pieces []struct {
			Charge struct {
				Charge []struct {
					WeighG float64 `json:"weigh_g"`
				}
			}
			Mould struct {
				Mould, Finished struct {
					Inside float64 `json:"inside_diameter_mm"`
				}
			}
			Fill struct {
				PourTimeS float64 `json:"pour_time_s"`
				HoldKg    float64 `json:"hold_kg"`
			}
			Melt struct {
				MassG   float64 `json:"melt_mass_g"`
				ButtonG float64 `json:"button_mass_g"`
				HighS   float64 `json:"time_high_s"`
			}
			PourC float64 `json:"pour_c"`
		}
		Steps []struct{ Do string }
	}
	require.NoError(t, json.Unmarshal(body, &plan))
	p, full := plan.Pieces[0], out.Pieces[0]
	const printed = 0.005
	require.InDelta(t, full.Charge.MassG, p.Charge.Charge[0].WeighG, printed)
	require.InDelta(t, full.Mould.Mould.InsideDiameterMM, p.Mould.Mould.Inside, printed)
	require.InDelta(t, full.InsideMM, p.Mould.Finished.Inside, printed)
	require.InDelta(t, full.Fill.Nominal.PourTimeS, p.Fill.PourTimeS, printed)
	require.InDelta(t, full.Fill.Flask.HoldKg, p.Fill.HoldKg, printed)
	require.InDelta(t, full.Melt.MeltMassG, p.Melt.MassG, printed)
	require.InDelta(t, full.Melt.ButtonMassG, p.Melt.ButtonG, printed)
	require.InDelta(t, full.Melt.TimeHighS, p.Melt.HighS, printed)
	require.InDelta(t, full.PourC, p.PourC, 0.05)
	require.Len(t, plan.Steps, len(out.Steps))

	// Nothing is said twice: no sentence stands in two places.
	said := map[string]int{}
	for _, c := range out.Cautions {
		said[c.Text]++
	}
	for _, s := range out.Steps {
		said[s.Do]++
	}
	for text, n := range said {
		require.Equal(t, 1, n, text)
	}
	for _, part := range []any{full.ChargeTold, full.MouldTold, full.FillTold, full.MeltTold} {
		b, err := wire.JSON(part)
		require.NoError(t, err)
		require.NotContains(t, string(b), `"cautions"`)
		require.NotContains(t, string(b), `"sources"`)
		require.NotContains(t, string(b), `"reasons"`)
	}
}

// TestAnOvalKeepsItsAxes in short too, and a charge that is not the alloy says what it is.
func TestAnOvalKeepsItsAxes(t *testing.T) {
	in := read(t, `{"improvements": false, "lots": [{"id": "a", "mass_g": 90, "alloy": "silver-925"}], "pieces": [{"name": "oval", "kind": "bangle", "inside_width_mm": 58, "inside_height_mm": 48, "thickness_mm": 3, "width_mm": 6, "mould": {"flask_width_mm": 120, "flask_height_mm": 140}}]}`)
	out, err := Plan(calc.Silent(ctx), in)
	require.NoError(t, err)
	p := out.Pieces[0]
	require.InDelta(t, 58, p.MouldTold.Finished.InsideWidthMM, 1e-6)
	require.Equal(t, p.Fill.Flask.ClayWallMM, p.FillTold.ClayWallMM)
	require.NotNil(t, p.FillTold.ClayWallMM)
	require.Equal(t, p.Melt.LeastMetal.MeltMassG, p.MeltTold.LeastMeltG)
	require.True(t, p.ChargeTold.Match.IsAlloy)
	for _, r := range p.FillTold.Risks {
		require.Positive(t, r.Pct)
	}
}
