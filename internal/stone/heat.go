package stone

import (
	"context"
	"math"
	"strings"

	"pourwright/internal/stone/shock"
)

// Heat is what the metal does to a stone. Null numbers could not be
// computed because a property is unknown.
type Heat struct {
	ContactC       *float64    `json:"contact_c" doc:"Temperature its surface would take at once in perfect contact with the liquid metal"`
	PeakSurfaceC   *float64    `json:"peak_surface_c" doc:"Highest temperature of its surface"`
	PeakCentreC    *float64    `json:"peak_centre_c" doc:"Highest temperature of its centre"`
	FrozenS        *float64    `json:"metal_frozen_s" doc:"Seconds until the metal at its surface is solid"`
	ShellMM        float64     `json:"metal_shell_mm" doc:"Metal round the stone in the model, which gives the section's volume over surface"`
	Events         []EventTime `json:"events" doc:"How long its surface is above each temperature at which something happens to its kind"`
	ResistanceK    *float64    `json:"resistance_k" doc:"R = σ(1−ν)/(Eα): the sudden step of surface temperature that the material bears"`
	MildWM         *float64    `json:"mild_resistance_w_m" doc:"R' = kR, for mild heat transfer, W/m"`
	Biot           *float64    `json:"biot" doc:"h r/k: small when the stone heats evenly"`
	ShockIndex     *float64    `json:"shock_index" doc:"Peak centre tension over strength, film between metal and stone: a rank, not a prediction"`
	ContactIndex   *float64    `json:"shock_index_contact" doc:"The same in perfect contact: an upper bound"`
	HeatingMPa     *float64    `json:"tension_heating_mpa" doc:"Greatest tension at the centre while it heats, from the transient"`
	CoolingMPa     *float64    `json:"tension_cooling_mpa" doc:"Greatest tension at the surface while it cools, from the transient"`
	IndexMissing   string      `json:"index_missing" doc:"Why there is no index; empty when there is one"`
	Beside         []Beside    `json:"beside" doc:"The same index for materials that have come out whole in the trade, at this size"`
	BurnSharePct   *float64    `json:"burn_share_pct" doc:"Diamond: share of the burning that left a burnt skin in a kiln (1 h at 725 °C in air), if air reached it all the time"`
	SafeWithoutAir string      `json:"burn_note" doc:"Diamond: what keeps the air off; empty for others"`
}

// EventTime is how long the stone is above a temperature.
type EventTime struct {
	What     string  `json:"what" doc:"What happens there"`
	FromC    float64 `json:"from_c" doc:"Low end of the temperature from which it happens"`
	AboveS   float64 `json:"above_s" doc:"Seconds that the stone's surface is above it"`
	IsColour bool    `json:"colour" doc:"true where it is the colour that changes"`
}

// Beside is the index of a proven case.
type Beside struct {
	Case  string  `json:"case" doc:"Material and mould that have come out whole" example:"natural sapphire in cold clay"`
	Index float64 `json:"shock_index" doc:"Its index at the size of this stone"`
}

// provenCases are what the index is set beside.
var provenCases = []struct {
	name, gem string
	mouldC    float64
}{
	{"natural diamond in cold clay", "diamond", 20},
	{"natural sapphire in cold clay", "sapphire", 20},
	{"sapphire in a flask at 540 °C", "sapphire", 540},
	{"garnet in a flask at 540 °C", "almandine", 540},
	{"cubic zirconia in a flask at 540 °C", "cz", 540},
}

func heatOf(ctx context.Context, gem Gem, p pour, density, volumeMM3 float64) (Heat, error) {
	h := Heat{Events: []EventTime{}, Beside: []Beside{}}
	radius := math.Cbrt(3 * volumeMM3 / (4 * math.Pi))
	for _, proven := range provenCases {
		g, _ := Find(proven.gem)
		sg, _, _, _ := g.density()
		m, _ := g.Body.medium(sg)
		e, _ := g.Body.elastic()
		_, index := shockIndex(m, e, p.film, radius, p.metalC, proven.mouldC)
		h.Beside = append(h.Beside, Beside{proven.name, index})
	}
	medium, ok := gem.Body.medium(density)
	if !ok {
		h.IndexMissing = "conductivity or specific heat of " + strings.ToLower(gem.Name) + " is unknown"
		return h, nil
	}
	contact := shock.Contact(p.liquid().Effusivity(), p.metalC, medium.Effusivity(), p.clayC)
	biot := p.film * radius / 1000 / medium.K
	h.ContactC, h.Biot = &contact, &biot
	var thresholds []float64
	for _, e := range gem.HeatEvents {
		thresholds = append(thresholds, *e.FromC.Low)
	}
	tr, err := follow(ctx, p, medium, radius, thresholds)
	if err != nil {
		return h, err
	}
	h.PeakSurfaceC, h.PeakCentreC, h.FrozenS, h.ShellMM = &tr.peakSurfaceC, &tr.peakCentreC, &tr.frozenS, tr.shellMM
	for i, e := range gem.HeatEvents {
		h.Events = append(h.Events, EventTime{e.What, thresholds[i], tr.above[i], e.Colour})
	}
	if strings.HasPrefix(gem.ID, "diamond") {
		share := 100 * tr.burnS / (burntSkinS * burnRate(burntSkinC))
		h.BurnSharePct = &share
		h.SafeWithoutAir = "Boric acid (saturated in alcohol, burnt off) keeps oxygen from a diamond; in oil-bonded clay the oil takes up much of it. Carbon from the oil may protect or soil: unmeasured."
	}
	elastic, ok := gem.Body.elastic()
	if !ok {
		h.IndexMissing = "strength, modulus, expansion or Poisson's ratio of " + strings.ToLower(gem.Name) + " is unknown"
		return h, nil
	}
	_, index := shockIndex(medium, elastic, p.film, radius, p.metalC, p.clayC)
	bound := shock.SphereInfinite * (contact - p.clayC) / elastic.Resistance()
	scale := elastic.E * elastic.Alpha / (1 - elastic.Nu) / 1e6
	heating, cooling := scale*tr.heatingPa, scale*tr.coolingPa
	r, mild := elastic.Resistance(), elastic.MildResistance(medium.K)
	h.ResistanceK, h.MildWM = &r, &mild
	h.ShockIndex, h.ContactIndex, h.HeatingMPa, h.CoolingMPa = &index, &bound, &heating, &cooling
	return h, nil
}
