package mesh

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r3"
)

// Bounds of a 3MF file: what is unpacked of its model, and how deep objects
// may be built of others.
const (
	mostModel  = 512 << 20
	mostNested = 8
	mostPlaced = 20_000 // uses of objects
)

// archive reads the model of a 3MF file: a zip with an XML part that lists
// objects, as meshes or built of other objects, and which of them make the
// piece, each with a transform and a unit.
//
// 3MF Core Specification 1.3, 3MF Consortium, 2021: 3 (build, unit), 4 (mesh,
// components); ISO/IEC 29500-2 for the package.
func (w *welder) archive(r io.Reader) (statements []string, err error) {
	packed, err := io.ReadAll(io.LimitReader(r, MaxBytes+1))
	if err != nil || len(packed) > MaxBytes {
		return nil, fmt.Errorf("is a zip or 3MF file of more than %d MiB, or cut short", MaxBytes>>20)
	}
	z, err := zip.NewReader(bytes.NewReader(packed), int64(len(packed)))
	if err != nil {
		return nil, errors.New("is a damaged or cut zip file; if it is a 3MF file, export it again, else unpack it and send the STL file in it")
	}
	for _, f := range z.File {
		if !strings.EqualFold(f.Name, "3D/3dmodel.model") {
			continue
		}
		part, err := f.Open()
		if err != nil {
			return nil, errors.New("is a 3MF file whose model cannot be unpacked")
		}
		defer part.Close()
		limited := &io.LimitedReader{R: part, N: mostModel}
		p := &package3D{w: w, objects: map[string]*object3D{}, scale: 1}
		if err := p.read(xml.NewDecoder(limited)); err != nil {
			if limited.N <= 0 {
				return nil, fmt.Errorf("is a 3MF file whose model is longer than %d MiB", mostModel>>20)
			}
			return nil, err
		}
		return p.build()
	}
	return nil, errors.New("is a zip file without a 3MF model in it: unpack it and send the STL file")
}

// package3D is a 3MF model as far as it is read.
type package3D struct {
	w       *welder
	objects map[string]*object3D
	items   []use3D
	scale   float64
	said    []string
	count   int
	placed  int // uses
	moved   int // vertices of them
}

type object3D struct {
	v     []r3.Vec
	t     []Triangle
	parts []use3D
}

// use3D is an object put to use: p → p·M + offset, row by row.
type use3D struct {
	object string
	m      [12]float64
}

var mm3D = map[string]float64{"": 1, "micron": 1e-3, "millimeter": 1, "centimeter": 10, "inch": 25.4, "foot": 304.8, "meter": 1000}

func (p *package3D) read(d *xml.Decoder) error {
	var now *object3D
	for {
		token, err := d.Token()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return fmt.Errorf("is a 3MF file whose model is no XML that can be read: %v", err)
		}
		e, ok := token.(xml.StartElement)
		if !ok {
			continue
		}
		attribute := func(name string) string {
			for _, a := range e.Attr {
				if a.Name.Local == name && a.Name.Space == "" {
					return a.Value
				}
			}
			return ""
		}
		switch e.Name.Local {
		case "model":
			scale, known := mm3D[attribute("unit")]
			if !known {
				return fmt.Errorf("is a 3MF file in the unknown unit %q", attribute("unit"))
			}
			if p.scale = scale; scale != 1 {
				p.said = append(p.said, fmt.Sprintf("the 3MF file is in %ss and was read as such", attribute("unit")))
			}
		case "object":
			now = &object3D{}
			p.objects[attribute("id")] = now
		case "vertex", "triangle", "component":
			if now == nil {
				return fmt.Errorf("is a 3MF file with a %s outside an object", e.Name.Local)
			}
			if err := p.element(now, e.Name.Local, attribute); err != nil {
				return err
			}
		case "item":
			if attribute("objectid") != "" {
				u, err := use(attribute)
				if err != nil {
					return err
				}
				p.items = append(p.items, u)
			}
		}
	}
}

func (p *package3D) element(now *object3D, name string, attribute func(string) string) error {
	switch name {
	case "component":
		u, err := use(attribute)
		now.parts = append(now.parts, u)
		return err
	case "vertex":
		var c [3]float64
		for k, axis := range [3]string{"x", "y", "z"} {
			v, err := strconv.ParseFloat(attribute(axis), 64)
			if err != nil || math.IsNaN(v) || math.Abs(v) > 1e6 {
				return fmt.Errorf("is a 3MF file with the coordinate %q in vertex %d", attribute(axis), len(now.v))
			}
			c[k] = v
		}
		if len(now.v) > 3*MaxTriangles {
			return errors.New("is a 3MF file with more vertices than its triangles can use")
		}
		now.v = append(now.v, r3.Vec{X: c[0], Y: c[1], Z: c[2]})
		return nil
	}
	var t Triangle
	for k, corner := range [3]string{"v1", "v2", "v3"} {
		v, err := strconv.Atoi(attribute(corner))
		if err != nil || v < 0 || v >= len(now.v) {
			return fmt.Errorf("is a 3MF file whose triangle %d names vertex %q of %d", len(now.t), attribute(corner), len(now.v))
		}
		t[k] = int32(v)
	}
	if p.count++; p.count > MaxTriangles {
		return fmt.Errorf("holds more than %d triangles", MaxTriangles)
	}
	now.t = append(now.t, t)
	return nil
}

func use(attribute func(string) string) (use3D, error) {
	u := use3D{attribute("objectid"), [12]float64{1, 0, 0, 0, 1, 0, 0, 0, 1, 0, 0, 0}}
	text := attribute("transform")
	if text == "" {
		return u, nil
	}
	words := strings.Fields(text)
	if len(words) != len(u.m) {
		return u, fmt.Errorf("is a 3MF file with a transform of %d numbers, not 12", len(words))
	}
	for k, word := range words {
		v, err := strconv.ParseFloat(word, 64)
		if err != nil || math.IsNaN(v) || math.Abs(v) > 1e6 {
			return u, fmt.Errorf("is a 3MF file with %q in a transform", word)
		}
		u.m[k] = v
	}
	return u, nil
}

func (u *use3D) apply(p r3.Vec) r3.Vec {
	m := &u.m
	return r3.Vec{X: p.X*m[0] + p.Y*m[3] + p.Z*m[6] + m[9], Y: p.X*m[1] + p.Y*m[4] + p.Z*m[7] + m[10], Z: p.X*m[2] + p.Y*m[5] + p.Z*m[8] + m[11]}
}

// build welds what the build list names.
func (p *package3D) build() ([]string, error) {
	if len(p.items) == 0 {
		return nil, errors.New("is a 3MF file whose build list is empty: nothing is to be made")
	}
	for _, item := range p.items {
		if err := p.place(item, nil, 0); err != nil {
			return nil, err
		}
	}
	return p.said, nil
}

// place welds an object, the uses it is within being applied from the inmost out.
func (p *package3D) place(u use3D, within []use3D, depth int) error {
	o, ok := p.objects[u.object]
	if !ok || depth > mostNested {
		return fmt.Errorf("is a 3MF file that uses object %q, which is not in its model or is built of itself", u.object)
	}
	p.placed, p.moved = p.placed+1, p.moved+len(o.v)
	if p.placed > mostPlaced || p.moved > 3*MaxTriangles {
		return fmt.Errorf("is a 3MF file that uses its objects more than %d times, or %d vertices in all", mostPlaced, 3*MaxTriangles)
	}
	chain := append([]use3D{u}, within...)
	for _, part := range o.parts {
		if err := p.place(part, chain, depth+1); err != nil {
			return err
		}
	}
	mirrored := false
	for i := range chain {
		m := &chain[i].m
		if r3.Dot(r3.Vec{X: m[0], Y: m[1], Z: m[2]}, r3.Cross(r3.Vec{X: m[3], Y: m[4], Z: m[5]}, r3.Vec{X: m[6], Y: m[7], Z: m[8]})) < 0 {
			mirrored = !mirrored
		}
	}
	numbers := make([]int32, len(o.v))
	for i, v := range o.v {
		for k := range chain {
			v = chain[k].apply(v)
		}
		c := point(r3.Scale(p.scale, v))
		numbers[i] = p.w.vertex(math.Float32bits(c[0]), math.Float32bits(c[1]), math.Float32bits(c[2]))
	}
	if len(p.w.mesh.T)+len(o.t) > MaxTriangles {
		return fmt.Errorf("holds more than %d triangles", MaxTriangles)
	}
	for _, t := range o.t {
		if mirrored {
			t[1], t[2] = t[2], t[1]
		}
		p.w.mesh.T = append(p.w.mesh.T, Triangle{numbers[t[0]], numbers[t[1]], numbers[t[2]]})
	}
	return nil
}
