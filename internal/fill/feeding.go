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
// spots is not nil it gathers the places.
func (w *run) feeding(spots *[]HotSpot) (cutOff float64) {
	if cap(w.free) < len(w.cells) {
		w.free = make([]float64, 2*len(w.cells))
	}
	freeze := w.free[:len(w.cells)]
	end := w.job.ended
	for i := range w.cells {
		freeze[i] = w.UntilEnthalpy(w.cells[i], end)
	}
	sprue := w.StemFreeze(end)
	for d := range w.mould.Ducts {
		cutOff += w.cutOff(d, freeze, sprue, spots)
	}
	return cutOff
}

// cutOff looks at one duct: a cell is fed as long as one of the two ways to a
// gate is open, each as long as its first place to freeze.
func (w *run) cutOff(d int, freeze []float64, sprue float64, spots *[]HotSpot) (volume float64) {
	lo, hi := -1, 0
	for i := range w.cells {
		if w.cells[i].Duct == d {
			if lo < 0 {
				lo = i
			}
			hi = i + 1
		}
	}
	if cap(w.back) < hi-lo+1 {
		w.back = make([]float64, 2*(hi-lo+1))
	}
	back := w.back[:hi-lo+1]
	back[hi-lo] = 0
	if w.mould.Ducts[d].To >= 0 {
		back[hi-lo] = sprue
	}
	for i := hi - 1; i >= lo; i-- {
		back[i-lo] = min(back[i-lo+1], freeze[i])
	}
	forth := sprue
	for i := lo; i < hi; i++ {
		open := max(forth, back[i-lo+1])
		forth = min(forth, freeze[i])
		if freeze[i] <= open*(1+together) {
			continue
		}
		c := &w.cells[i]
		v := w.CellVolume(*c)
		volume += v
		if spots != nil {
			w.spot(spots, d, i, freeze[i], open, v)
		}
	}
	return volume
}

// spot adds a cell to the hot spot that it belongs to, or starts one.
func (w *run) spot(spots *[]HotSpot, d, i int, freeze, open, v float64) {
	c := &w.cells[i]
	at := 100 * math.Mod(w.job.offset[d]+w.job.span[d]*(c.From+c.To)/2+1, 1)
	width := 100 * w.job.span[d] * (c.To - c.From)
	if n := len(*spots); n > 0 {
		last := &(*spots)[n-1]
		if math.Abs(last.last-at) < 1.5*width {
			last.VolumeMM3 += 1e9 * v
			last.last = at
			if freeze > last.FreezeS {
				last.FreezeS, last.CutOffS, last.AtPct = freeze, open, at
				last.Where = w.job.where(at)
			}
			return
		}
	}
	*spots = append(*spots, HotSpot{Where: w.job.where(at), AtPct: at, FreezeS: freeze, CutOffS: open, VolumeMM3: 1e9 * v, last: at})
}
