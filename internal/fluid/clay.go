package fluid

import (
	"math"

	"pourwright/internal/calc"
)

// Clay is the heat side of the mould material.
type Clay struct {
	ConductivityWMK  float64 `json:"conductivity_w_mk" minimum:"0.05" maximum:"5" default:"0.6" doc:"Thermal conductivity"`
	DensityKgM3      float64 `json:"density_kg_m3" minimum:"300" maximum:"4000" default:"1600" doc:"Density as rammed"`
	HeatCapacityJKgK float64 `json:"heat_capacity_j_kgk" minimum:"300" maximum:"3000" default:"1100" doc:"Specific heat"`
}

// OilClay is oil-bonded clay where nothing better is known; the defaults of
// Clay's fields are these.
var OilClay = Clay{0.6, 1600, 1100}

// ClayStartC is the temperature of a mould that was not warmed, °C.
const ClayStartC = 25.0

// The heat diffusivity √(kρc) of oil-bonded clay, W √s/(m² K), is not known
// better than this.
const (
	EffusivityLow  = 760.0
	EffusivityHigh = 1350.0
)

// SourceClay stands behind the figures of the clay.
var SourceClay = calc.Source{For: "oil-bonded clay", Text: "dry moulding sand k 0.6 W/(m K), 1600 kg/m³, of the common textbook kind; 1100 J/(kg K); √(kρc) 760 to 1350 W √s/(m² K) for k 0.4 to 0.9, 1450 to 1700 kg/m³, 1000 to 1200 J/(kg K); no measurement of oil-bonded clay was found", Status: calc.Choice}

// Effusivity returns √(k ρ c) in W √s/(m² K).
func (c Clay) Effusivity() float64 {
	return math.Sqrt(c.ConductivityWMK * c.DensityKgM3 * c.HeatCapacityJKgK)
}

// VolumeHeat returns ρ c in J/(m³ K).
func (c Clay) VolumeHeat() float64 { return c.DensityKgM3 * c.HeatCapacityJKgK }
