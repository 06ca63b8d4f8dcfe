package picture_test

import (
	"testing"

	"pourwright/internal/draw"
	"pourwright/internal/picture"
)

// BenchmarkPicture takes each picture from its numbers to a file, beside an
// empty sheet in the same format.
func BenchmarkPicture(b *testing.B) {
	write := map[string]func(*draw.Sheet) ([]byte, error){
		"svg": (*draw.Sheet).SVG,
		"pdf": func(s *draw.Sheet) ([]byte, error) { return draw.PDF(s) },
		"png": func(s *draw.Sheet) ([]byte, error) { return s.PNG(150) },
	}
	make := map[string]func() (*draw.Sheet, error){
		"empty":    func() (*draw.Sheet, error) { return draw.NewSheet(180, 100), nil },
		"band":     func() (*draw.Sheet, error) { return picture.DrawBand(bangle, picture.Look{}) },
		"standing": func() (*draw.Sheet, error) { return picture.DrawMould(standing, picture.Look{}) },
		"masses":   func() (*draw.Sheet, error) { return picture.DrawMasses(masses, picture.Look{}) },
	}
	for _, what := range []string{"empty", "band", "standing", "masses"} {
		for _, format := range []string{"svg", "pdf", "png"} {
			b.Run(what+"/"+format, func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					s, err := make[what]()
					if err != nil {
						b.Fatal(err)
					}
					out, err := write[format](s)
					if err != nil {
						b.Fatal(err)
					}
					b.SetBytes(int64(len(out)))
				}
			})
		}
	}
}
