package mesh

import (
	"bufio"
	"encoding/binary"
	"io"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// WriteSTL writes the mesh as binary STL, in mm. Title goes into the header,
// cut at 80 bytes; it is padded so that it never looks like an ASCII file.
func (m *Mesh) WriteSTL(out io.Writer, title string) error {
	w := bufio.NewWriterSize(out, 1<<16)
	var head [headerSize]byte
	copy(head[:80], "STL, mm: "+title)
	binary.LittleEndian.PutUint32(head[80:], uint32(len(m.T)))
	w.Write(head[:]) // a bufio.Writer keeps its first error for Flush
	var record [recordSize]byte
	for i, t := range m.T {
		a, b, c := m.Corners(i)
		n := r3.Cross(r3.Sub(b, a), r3.Sub(c, a))
		if l := r3.Norm(n); l > 0 {
			n = r3.Scale(1/l, n)
		}
		put := func(at int, v float32) { binary.LittleEndian.PutUint32(record[at:], math.Float32bits(v)) }
		put(0, float32(n.X))
		put(4, float32(n.Y))
		put(8, float32(n.Z))
		for k, v := range t {
			for d, x := range m.V[v] {
				put(12+12*k+4*d, x)
			}
		}
		w.Write(record[:])
	}
	return w.Flush()
}
