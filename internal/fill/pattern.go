package fill

import (
	"context"

	"pourwright/internal/calc"
)

// takeMesh reads the measures of a band from its surface.
func (in *In) takeMesh(ctx context.Context) error {
	if !in.isBand() || len(in.Stations) > 0 || in.ThinSpot != nil {
		return calc.Refuse("", nil, "give it for a bangle or ring, without stations and thin_spot")
	}
	solid, err := in.PatternMesh.Load(ctx)
	if err != nil {
		return err
	}
	in.InsideDiameterMM, in.Stations, err = solid.Band()
	in.PatternMesh = nil // its measures stand for it from here on
	return err
}
