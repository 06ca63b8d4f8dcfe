package stone

import (
	"math"

	"pourwright/internal/calc"
	"pourwright/internal/fluid"
)

// The contact angles of liquid metal on clay and stone.
const (
	sureDeg   = fluid.ContactHighDeg // what fills at this angle fills
	likelyDeg = fluid.ContactDeg
	leastDeg  = fluid.ContactLowDeg // what does not fill at this angle does not fill
)

var srcCapillary = calc.Source{For: "what surface tension keeps empty", Text: "Young-Laplace: a hemispherical tip of radius R asks ρgh = 2γ|cos θ|/R, a slit of width w asks 2γ|cos θ|/w; contact angles 120-150° on oxide moulds from memory, 180° as the safe value", Status: calc.Computed}

// capillary is a metal that stands under a head.
type capillary struct {
	gamma float64 // N/m
	rho   float64 // kg/m³
	head  float64 // mm
}

// radius returns γ/(ρgh) in mm, the radius of a meniscus along an edge.
func (c capillary) radius() float64 { return 1e3 * fluid.MeniscusRadius(c.gamma, c.rho, c.head/1e3) }

// tip returns the least radius in mm of a hemisphere that fills.
func (c capillary) tip(thetaDeg float64) float64 { return 2 * c.radius() * wetting(thetaDeg) }

// slit returns the least width in mm of a slit that fills.
func (c capillary) slit(thetaDeg float64) float64 { return 2 * c.radius() * wetting(thetaDeg) }

// headFor returns the head in mm at which a hemisphere of radius mm fills.
func (c capillary) headFor(radiusMM, thetaDeg float64) float64 {
	return c.head * c.tip(thetaDeg) / radiusMM
}

// wedge returns how far the metal stops short of the line where the mould's
// face meets a slope rising from it at the given angle: the height in mm of
// its contact with the slope above the face. A meniscus of radius γ/(ρgh)
// leans on both: from the wedge's edge the contact is at
// r (|cos θ|/tan(angle/2) − sin θ) along the slope.
func (c capillary) wedge(angleDeg, thetaDeg float64) float64 {
	a, t := angleDeg*math.Pi/180, thetaDeg*math.Pi/180
	along := c.radius() * (-math.Cos(t)/math.Tan(a/2) - math.Sin(t))
	return max(0, along) * math.Sin(a)
}

// wetting is |cos θ| of a non-wetting melt.
func wetting(thetaDeg float64) float64 { return fluid.NonWetting(thetaDeg) }
