package fill

import "math"

const (
	// isolatedShare of the piece may freeze cut off from the sprue before the
	// pour counts as spoilt by shrinkage.
	isolatedShare = 0.10
	// together: places whose freezing times differ by less than this share
	// freeze as one; metal conducts along the piece, which the model leaves out.
	together = 0.15
	// sprueLonger: the feeder's modulus is 1.2 of what it feeds.
	sprueLonger = 1.2
)

// feeding returns the volume in m³ that freezes cut off from the gates. When
// spots is not nil it gathers the places; unfed counts them by cell.
//
// A place is fed as long as a way to the sprue stays open, each as long as its
// first place to freeze: the way by its parents, or through where streams met.
func (w *run) feeding(spots *[]HotSpot, unfed []float64) (cutOff float64) {
	n := len(w.cells)
	if cap(w.free) < n+1 {
		w.free, w.back = make([]float64, n+1), make([]float64, n+1)
	}
	freeze, open := w.free[:n+1], w.back[:n+1]
	end := w.job.ended
	freeze[0], open[0] = math.Inf(1), math.Inf(1)
	for i := range w.cells {
		c := &w.cells[i]
		freeze[i+1] = w.UntilEnthalpy(c, end)
		open[i+1] = min(open[c.Parent], freeze[c.Parent])
	}
	for _, l := range w.Loops() { // metal from the other side, back along the parents
		for k := range 2 {
			from, at := l[k], l[1-k]
			way := min(open[from], freeze[from])
			for at != 0 && way > open[at] {
				open[at] = way
				way = min(way, freeze[at])
				at = w.cells[at-1].Parent
			}
		}
	}
	for i := range w.cells {
		c := &w.cells[i]
		if c.Piece != w.job.part || freeze[i+1] <= open[i+1]*(1+together) {
			continue
		}
		cutOff += c.Volume
		if unfed != nil {
			unfed[i]++
		}
		if spots != nil {
			w.spot(spots, i, freeze[i+1], open[i+1])
		}
	}
	return cutOff
}

// spot adds a cell to the hot spot that it belongs to, or starts one.
func (w *run) spot(spots *[]HotSpot, i int, freeze, open float64) {
	c := &w.cells[i]
	at := w.job.placePct(c)
	if n := len(*spots); n > 0 {
		last := &(*spots)[n-1]
		if i > 0 && w.lastSpot == i-1 {
			last.VolumeMM3 += 1e9 * c.Volume
			w.lastSpot = i
			if freeze > last.FreezeS {
				last.FreezeS, last.CutOffS, last.AtPct = freeze, open, at
				last.Where = w.job.where(at)
			}
			return
		}
	}
	w.lastSpot = i
	*spots = append(*spots, HotSpot{Where: w.job.where(at), AtPct: at, FreezeS: freeze, CutOffS: open, VolumeMM3: 1e9 * c.Volume})
}
