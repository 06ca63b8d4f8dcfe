package mesh

import (
	"archive/zip"
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/spatial/r3"
)

func asText(m *Mesh, eol string) string {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+eol, args...) }
	line("solid piece")
	for _, tr := range m.T {
		line("facet normal 0 0 0")
		line(" outer loop")
		for _, v := range tr {
			line("  vertex %g %g %g", m.V[v][0], m.V[v][1], m.V[v][2])
		}
		line(" endloop")
		line("endfacet")
	}
	line("endsolid")
	return b.String()
}

func pack3MF(t *testing.T, name, model string) []byte {
	var file bytes.Buffer
	z := zip.NewWriter(&file)
	w, err := z.Create(name)
	require.NoError(t, err)
	_, err = w.Write([]byte(model))
	require.NoError(t, err)
	require.NoError(t, z.Close())
	return file.Bytes()
}

func object(id int, m *Mesh) string {
	var b strings.Builder
	fmt.Fprintf(&b, `<object id="%d" type="model"><mesh><vertices>`, id)
	for _, v := range m.V {
		fmt.Fprintf(&b, `<vertex x="%g" y="%g" z="%g"/>`, v[0], v[1], v[2])
	}
	b.WriteString("</vertices><triangles>")
	for _, tr := range m.T {
		fmt.Fprintf(&b, `<triangle v1="%d" v2="%d" v3="%d"/>`, tr[0], tr[1], tr[2])
	}
	b.WriteString("</triangles></mesh></object>")
	return b.String()
}

const head3MF = `<?xml version="1.0"?><model unit="%s" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><resources>`

// A block of 20 x 10 x 4 in 3MF: as it stands; in inches; built of two halves,
// one of them mirrored, by components and a transform.
func Test3MF(t *testing.T) {
	block, half := Box(r3.Vec{}, r3.Vec{X: 20, Y: 10, Z: 4}), Box(r3.Vec{}, r3.Vec{X: 10.5, Y: 10, Z: 4})
	for name, c := range map[string]struct {
		model  string
		volume float64
	}{
		"plain":  {fmt.Sprintf(head3MF, "millimeter") + object(7, block) + `</resources><build><item objectid="7"/></build></model>`, 800},
		"inches": {fmt.Sprintf(head3MF, "inch") + object(7, Box(r3.Vec{}, r3.Vec{X: 1, Y: 1, Z: 1})) + `</resources><build><item objectid="7"/></build></model>`, 25.4 * 25.4 * 25.4},
		"parts": {fmt.Sprintf(head3MF, "millimeter") + object(1, half) +
			`<object id="2"><components><component objectid="1"/><component objectid="1" transform="-1 0 0 0 1 0 0 0 1 20 0 0"/></components></object></resources>` +
			`<build><item objectid="2" transform="0 1 0 -1 0 0 0 0 1 5 6 7"/></build></model>`, 800},
	} {
		t.Run(name, func(t *testing.T) {
			var p Pattern
			require.NoError(t, p.ReadBody(bytes.NewReader(pack3MF(t, "3D/3dmodel.model", c.model))))
			out, err := Measure(t.Context(), In{Pattern: p})
			require.NoError(t, err)
			require.InEpsilon(t, c.volume, out.VolumeMM3, 1e-3)
			require.Equal(t, 1, out.Bodies)
		})
	}
}

func TestBad3MF(t *testing.T) {
	model := fmt.Sprintf(head3MF, "millimeter") + object(7, Box(r3.Vec{}, r3.Vec{X: 20, Y: 10, Z: 4})) + `</resources><build><item objectid="7"/></build></model>`
	whole := pack3MF(t, "3D/3dmodel.model", model)
	for want, file := range map[string][]byte{
		"without a 3MF model": pack3MF(t, "ring.stl", "solid"),
		"damaged or cut":      whole[:len(whole)-30],
		"names vertex":        pack3MF(t, "3D/3dmodel.model", strings.Replace(model, `v1="0"`, `v1="99"`, 1)),
		"the coordinate":      pack3MF(t, "3D/3dmodel.model", strings.Replace(model, `x="20"`, `x="2,0"`, 1)),
		"unknown unit":        pack3MF(t, "3D/3dmodel.model", strings.Replace(model, "millimeter", "cubit", 1)),
		"build list is empty": pack3MF(t, "3D/3dmodel.model", strings.Replace(model, "<item", "<other", 1)),
		"is not in its model": pack3MF(t, "3D/3dmodel.model", strings.Replace(model, `objectid="7"`, `objectid="8"`, 1)),
		"built of itself":     pack3MF(t, "3D/3dmodel.model", fmt.Sprintf(head3MF, "millimeter")+`<object id="1"><components><component objectid="1"/></components></object></resources><build><item objectid="1"/></build></model>`),
		"no XML":              pack3MF(t, "3D/3dmodel.model", "<model><resources></model>"),
		"a transform of 3":    pack3MF(t, "3D/3dmodel.model", strings.Replace(model, `<item `, `<item transform="1 2 3" `, 1)),
		"more than 20000":     pack3MF(t, "3D/3dmodel.model", bushy()),
	} {
		_, _, err := Read(bytes.NewReader(file), "body")
		require.ErrorContains(t, err, want)
	}
}

// bushy is a model that is small but is built of 40 objects of 40 objects and so on.
func bushy() string {
	var b strings.Builder
	fmt.Fprintf(&b, head3MF, "millimeter")
	b.WriteString(`<object id="0"></object>`)
	for i := 1; i < 6; i++ {
		fmt.Fprintf(&b, `<object id="%d"><components>%s</components></object>`, i, strings.Repeat(fmt.Sprintf(`<component objectid="%d"/>`, i-1), 40))
	}
	b.WriteString(`</resources><build><item objectid="5"/></build></model>`)
	return b.String()
}

func TestTextsOfAllWriters(t *testing.T) {
	m := Sphere(r3.Vec{}, 5, 1)
	for name, text := range map[string]string{
		"carriage returns": asText(m, "\r"), "both": asText(m, "\r\n"), "byte order mark": "\ufeff" + asText(m, "\n"), "mark and returns": "\ufeff" + asText(m, "\r"),
	} {
		got, _, err := Read(strings.NewReader(text), "body")
		require.NoError(t, err, name)
		require.Equal(t, m.T, got.T, name)
	}
	_, _, err := Read(strings.NewReader(strings.ReplaceAll(asText(m, "\n"), ".", ",")), "body")
	require.ErrorContains(t, err, "decimal comma")
}

func TestOtherFormatsAreNamed(t *testing.T) {
	for want, file := range map[string]string{
		"an OBJ file":    "# made by hand\no ring\nv 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n" + strings.Repeat("v 1 2 3\n", 20),
		"a PLY file":     "ply\nformat ascii 1.0\nelement vertex 8\n" + strings.Repeat("0 0 0\n", 30),
		"a STEP file":    "ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION((''),'2;1');\n" + strings.Repeat("#1=CARTESIAN_POINT('',(0.,0.,0.));\n", 9),
		"a glTF file":    "glTF\x02\x00\x00\x00" + strings.Repeat("x", 200),
		"a JSON text":    `{"stl_base64": "AAAA"}` + strings.Repeat(" ", 200),
		"an archive":     "7z\xbc\xaf\x27\x1c" + strings.Repeat("x", 200),
		"an XML or HTML": "<html>" + strings.Repeat(" ", 200),
	} {
		_, _, err := Read(strings.NewReader(file), "body")
		require.ErrorContains(t, err, want)
		require.NotContains(t, err.Error(), "claims")
	}
}
