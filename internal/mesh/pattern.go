package mesh

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"pourwright/internal/calc"
)

// Pattern is a surface as a caller sends it: as base64 in a field, or as the
// body of the request. Embed it in an input; [FromSTL] reads the body.
type Pattern struct {
	STL  []byte `json:"stl_base64,omitempty" doc:"The STL file, binary or ASCII, or a 3MF file, in base64; leave it out when the request's body is the file itself"`
	Unit string `json:"unit" enum:"mm,cm,in" default:"mm" doc:"Unit of the coordinates of an STL file, which does not tell it; leave it for a 3MF file, which does" example:"mm"`
	body *Mesh
	said []string
}

// mmPer unit.
var mmPer = map[string]float64{"": 1, "mm": 1, "cm": 10, "in": 25.4}

// ReadBody takes the surface from a request body of STL.
func (p *Pattern) ReadBody(r io.Reader) (err error) {
	p.body, p.said, err = Read(r, "body")
	return err
}

// Given tells whether a surface was sent.
func (p *Pattern) Given() bool { return p.body != nil || len(p.STL) > 0 }

// Of returns a pattern of a surface at hand, in mm.
func Of(m *Mesh) Pattern { return Pattern{body: m, Unit: "mm"} }

// Checked is a surface found to enclose a volume.
type Checked struct {
	*Mesh
	Solid
	Shells    []Shell
	EdgeCount int
	Repairs   []string // what was put right, in words
	Flaws     []Flaw   // what was found but does no harm to the volume
	Welded    int      // corners as read, before repairs
	Bodies    int      // parts that share no metal: 1 for a sound piece
	Unions    int      // shells that run into others and are counted as one body with them

	perUnit  float64 // mm
	shellOf  []int32 // per triangle
	mate     []int32 // of half-edges, see [Edges]
	tree     *tree
	surveyed *survey
}

const (
	longestMM    = 1000 // of a pattern: a flask for more is no bench tool
	overlapLines = 96   // each way, that look for overlaps
	unionLines   = 1000 // each way, that measure a volume with overlaps
)

// Load reads, mends and checks the surface. What cannot be mended safely is
// refused with the place of each kind of fault.
func (p *Pattern) Load(ctx context.Context) (*Checked, error) {
	field := "body"
	m, said := p.body, p.said
	if m == nil {
		field = "stl_base64"
		if len(p.STL) == 0 {
			return nil, calc.Refuse(field, nil, "give an STL file in base64, or send it as the body with Content-Type model/stl")
		}
		var err error
		m, said, err = Read(bytes.NewReader(p.STL), field)
		if err != nil {
			return nil, err
		}
	} else { // Load leaves the pattern as it was
		m = &Mesh{append([]Point(nil), m.V...), append([]Triangle(nil), m.T...)}
	}
	scale, ok := mmPer[p.Unit]
	if !ok {
		return nil, calc.Refuse("unit", p.Unit, "give mm, cm or in")
	}
	m.Scale(scale)
	c := &Checked{Mesh: m, Repairs: append([]string{}, said...), Welded: len(m.V), perUnit: scale}
	return c, c.check(ctx, field)
}

func (c *Checked) check(ctx context.Context, field string) error {
	low, high := c.Bounds()
	size := r3.Sub(high, low)
	if longest := max(size.X, size.Y, size.Z); !(longest <= longestMM && longest >= 0.1) {
		return calc.Refuse("unit", longest, "give the unit that makes the piece 0.1 to %d mm long; as read, it is %.4g mm", longestMM, longest)
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	repairs, flaws, edges, lists := c.Mend(ctx)
	c.Repairs = append(c.Repairs, repairs...)
	c.EdgeCount, c.mate = edges.Count, edges.Mate
	if len(c.T) == 0 {
		flaws = append(flaws, Flaw{"nothing", 0, low, true, "facets with an area"})
	}
	if len(flaws) == 0 {
		var turned []string
		turned, flaws = c.Nest(ctx, lists)
		c.Repairs = append(c.Repairs, turned...)
	}
	if err := cmp.Or(ctx.Err(), refusal(field, flaws)); err != nil {
		return err
	}
	c.Flaws = flaws
	c.Solid = c.Mesh.Solid()
	if !(c.VolumeMM3 > 1e-6*c.AreaMM2) {
		return calc.Refuse(field, c.VolumeMM3, "give a surface that encloses a volume; this one encloses %.3g mm³ in %.3g mm² of surface", c.VolumeMM3, c.AreaMM2)
	}
	if c.Bodies > 1 {
		c.Flaws = append(c.Flaws, Flaw{"bodies", c.Bodies, c.Shells[c.apartFrom()].At, false, fmt.Sprintf("the file holds %d bodies that share no metal; each needs its own way for the metal, and measures of a ring are over all of them", c.Bodies)})
	}
	return cmp.Or(c.unite(ctx), ctx.Err())
}

// apartFrom returns a shell that is not of the first's body.
func (c *Checked) apartFrom() int {
	return max(slices.IndexFunc(c.Shells, func(s Shell) bool { return s.Body != c.Shells[0].Body }), 0)
}

// unite counts once what several bodies, or one surface that crosses itself,
// take up together.
func (c *Checked) unite(ctx context.Context) error {
	at, share := c.Overlap(ctx, overlapLines)
	if share == 0 && c.Unions == 0 {
		return ctx.Err()
	}
	c.VolumeMM3 = c.UnionVolume(ctx, unionLines)
	if c.Unions == 0 {
		c.Flaws = append(c.Flaws, Flaw{"overlaps", 1, at, false, fmt.Sprintf("the surface crosses itself, over about %.2g %% of the volume; the volume counts what it takes up once, the area and the centre of mass do not", 100*share)})
		return ctx.Err()
	}
	s := c.survey(ctx).solid
	c.AreaMM2, c.Centre = s.AreaMM2, s.Centre
	return ctx.Err()
}

// refusal lists the fatal flaws, each with its place.
func refusal(field string, flaws []Flaw) error {
	r := &calc.Refusal{Detail: "the surface is damaged and cannot be mended safely", Explain: map[string]any{}}
	var list []map[string]any
	for _, f := range flaws {
		if !f.Fatal {
			continue
		}
		r.Faults = append(r.Faults, calc.Fault{Field: field, Value: f.Code, Accepts: fmt.Sprintf(
			"%d %s; the first at x %.4g, y %.4g, z %.4g mm. Give a closed surface: mend it where it was drawn or scanned", f.Count, f.Text, f.At.X, f.At.Y, f.At.Z)})
		list = append(list, map[string]any{"code": f.Code, "count": f.Count, "at_mm": []float64{f.At.X, f.At.Y, f.At.Z}})
	}
	if len(list) == 0 {
		return nil
	}
	r.Explain["flaws"] = list
	return r
}
