package fill

// Brief is the answer without its tables: the times along the planned run, the
// map over the piece, and causes of less than a twentieth. [Follow] has them all.
func (o Out) Brief() Out {
	o.Nominal.Stretches = []Stretch{}
	o.Map = []Spot{}
	const twentieth = 5.0
	for i, c := range o.Causes {
		if c.SharePct < twentieth {
			o.Causes = o.Causes[:i:i]
			break
		}
	}
	return o
}
