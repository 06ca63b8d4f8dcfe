// Package network follows molten metal through a network of channels from the
// funnel to the last place to fill: how it runs, cools, meets and is pressed
// into its mould. It knows channels, metal, clay and a pour; nothing of pieces
// of jewellery or of requests. SI units; temperatures in °C, enthalpies in
// J/kg over the solid at 25 °C.
//
// One law of flow holds everywhere: metal in a channel runs as fast as energy
// allows; where that would need more than its section, the section is full and
// pressure builds up behind; where it needs less, the rest of the section
// stays open. One law of heat: metal gives heat to clay that remembers what it
// has taken, and the tip of a front is renewed from behind over a mixing length.
package network

// Section is a short stretch of a channel, all of one section.
type Section struct {
	Length    float64 // along the channel, m
	Area      float64 // m²
	Perimeter float64 // cooled by clay, m
	Thickness float64 // least measure across, m
	PerThick  float64 // change of the perimeter per relative change of thickness, m
	Round     bool    // the width grows with the thickness
	Height    float64 // of its middle over any level common to the network, m
	Rise      float64 // of its end over its start, m
}

// Reach is a channel between two junctions, its sections in order.
type Reach struct {
	From, To int // junctions; To is DeadEnd where the channel ends
	Sections []Section
	Loss     float64 // at its start, in velocity heads of the reach
	Piece    int     // number of the piece that it is part of; NoPiece of sprues and runners
	// Copies is how many equal channels side by side it stands for, 0 or 1 for
	// itself alone. The ends of two copies meet each other where Mirror is set.
	Copies int
	Mirror bool
	Cells  int // that it is cut into; 0 for as many as the spacing gives, three at least
}

// Length of the reach, m.
func (r *Reach) Length() (total float64) {
	for i := range r.Sections {
		total += r.Sections[i].Length
	}
	return total
}

// Marks of reaches and vents.
const (
	DeadEnd = -1
	NoPiece = -1
	// LastPlace of a vent is where the metal comes last, which leaves it open.
	LastPlace = -1
)

// Vent leads gas out of a piece.
type Vent struct {
	Reach            int
	At               float64 // fraction of the reach
	Diameter, Length float64 // m
	Count            int
}

// Funnel feeds the junction at the top of the sprue or sprues.
type Funnel struct {
	Junction int
	Area     float64 // of the metal's surface that the hand fills, m²
	Depth    float64 // when full, m
	Sprue    float64 // area of the mouths below it, m²
}

// Network is all that the metal can reach. Junction 0 and up are numbered
// without gaps; every reach hangs together with the funnel's junction.
type Network struct {
	Funnel  Funnel
	Reaches []Reach
	Vents   []Vent
	Spacing float64 // aimed length of a cell, m; 0 means DefaultSpacing of the longest reach
}

// Clay is the mould as the metal feels it.
type Clay struct {
	K, RhoC float64 // conductivity, W/(m K), and heat capacity by volume, J/(m³ K)
	StartC  float64
	Perm    float64 // gas permeability, m²
	Path    float64 // of the gas to the outside, m
}

// Pour is one way that a pour may go.
type Pour struct {
	Enthalpy   float64 // of the metal as it enters the funnel, J/kg
	Rate       float64 // that the hand gives, m³/s
	Rise       float64 // time in which its stream grows to that, s
	Fall       float64 // of the stream from the lip to the funnel, m
	Thickening float64 // of every section of a piece over what the network says, m
	Interface  float64 // coefficient between metal and clay, W/(m² K)
	Effusivity float64 // of the clay over what Clay says
	Mixing     float64 // length over which a tip is renewed, m
	Stop       float64 // fraction solid at which a front stops
	Weld       float64 // fraction solid above which metal that meets does not weld
	Gas        float64 // pressure of the mould's gas with the usual vents and wall, Pa
	Tension    float64 // over what Metal says
	Break, Gap float64 // the stream breaks off at this time for this long, s; Gap 0 for never
}
