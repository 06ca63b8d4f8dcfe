package blend

import (
	"cmp"
	"math"
	"slices"

	"pourwright/internal/blend/lp"
)

// model is the programme written as columns and rows.
type model struct {
	problem task
	column  [][]int // by melt and lot; −1 where the lot is barred from the melt
	rows    []row
	carry   [][]float64 // share of melt a's charge that ends up in melt b
}

// row says what a row of the programme stands for.
type row struct {
	kind rowKind
	melt int
	of   int // index of the limit or of the lot
}

type rowKind int

const (
	rowMass rowKind = iota
	rowFineness
	rowCeiling
	rowElementMost
	rowElementLeast
	rowScrap
	rowLot
	rowEven
	rowWindowMost
	rowWindowLeast
	rowFinest
	rowNominal
)

func (p *Programme) model() *model {
	m := &model{carry: p.carry()}
	order := p.canonical()
	for range p.Melts {
		m.column = append(m.column, slices.Repeat([]int{-1}, len(p.Lots)))
	}
	single := len(p.Melts) == 1
	rows := 2
	for _, melt := range p.Melts {
		rows += 6 + 2*len(melt.Limits) + 2*len(melt.Window) + len(melt.Nominal)
	}
	store := make([]lp.Entry, rows*len(p.Lots)*len(p.Melts))
	for a, melt := range p.Melts {
		size := p.size(&melt)
		for _, k := range order {
			lot := &p.Lots[k]
			if melt.bars(lot) {
				continue
			}
			m.column[a][k] = len(m.problem.Columns)
			m.problem.Columns = append(m.problem.Columns, store[:0:rows])
			store = store[rows:]
			low, high := 0.0, min(lot.StockG, melt.MostG)
			if lot.Undivided {
				m.problem.undivided = append(m.problem.undivided, undivided{len(m.problem.Columns) - 1, k, lot.StockG})
			}
			if single && lot.Whole {
				low, high = lot.StockG, lot.StockG
			}
			m.problem.Low, m.problem.High = append(m.problem.Low, low), append(m.problem.High, high)
			m.problem.Typical = append(m.problem.Typical, size)
		}
	}
	for b := range p.Melts {
		p.meltRows(m, b)
	}
	if !single {
		for _, k := range order {
			p.lotRow(m, k)
		}
	}
	p.objectives(m, order)
	return m
}

// size is about what the melt will weigh.
func (p *Programme) size(melt *Melt) float64 {
	whole := 0.0
	for _, lot := range p.Lots {
		if lot.Whole {
			whole += lot.StockG
		}
	}
	if size := max(melt.LeastG, min(whole, melt.MostG)); size > 0 {
		return size
	}
	if !math.IsInf(melt.MostG, 1) {
		return melt.MostG
	}
	return 1
}

// bars reports whether the lot must not go into the melt.
func (melt *Melt) bars(lot *Lot) bool {
	return melt.OnlyOwner != nil && !lot.Bought && lot.Owner != "" && lot.Owner != *melt.OnlyOwner
}

// carry is the share of each melt's charge that ends up in each later one
// through the returns, directly and by way of melts between.
func (p *Programme) carry() [][]float64 {
	n := len(p.Melts)
	c := make([][]float64, n)
	for a := range n {
		c[a] = make([]float64, n)
		c[a][a] = 1
	}
	for b, melt := range p.Melts {
		for _, r := range melt.Returns {
			for a := 0; a <= r.From; a++ {
				c[a][b] += c[a][r.From] * r.Share
			}
		}
	}
	return c
}

// canonical orders the lots by what they are, and by name only where they are
// alike, so that the order in which they were given has no say.
func (p *Programme) canonical() []int {
	order := make([]int, len(p.Lots))
	for k := range order {
		order[k] = k
	}
	symbol := p.Melts[0].Metal
	slices.SortStableFunc(order, func(i, j int) int {
		a, b := &p.Lots[i], &p.Lots[j]
		return cmp.Or(
			cmp.Compare(flag(a.Bought), flag(b.Bought)),
			-cmp.Compare(a.Least[symbol], b.Least[symbol]),
			-cmp.Compare(a.Most[symbol], b.Most[symbol]),
			cmp.Compare(a.PricePerG, b.PricePerG),
			cmp.Compare(a.StockG, b.StockG),
			cmp.Compare(a.ID, b.ID))
	})
	return order
}

func (m *model) addRow(r row, low, high float64) int {
	m.rows = append(m.rows, r)
	m.problem.RowLow, m.problem.RowHigh = append(m.problem.RowLow, low), append(m.problem.RowHigh, high)
	return len(m.rows) - 1
}

// meltRow adds a row in which each gram of lot k in melt b counts per(lot).
func (p *Programme) meltRow(m *model, r row, low, high float64, per func(*Lot) float64) {
	at := m.addRow(r, low, high)
	for a := 0; a <= r.melt; a++ {
		share := m.carry[a][r.melt]
		if share == 0 {
			continue
		}
		for k, j := range m.column[a] {
			if j < 0 {
				continue
			}
			if v := share * per(&p.Lots[k]); v != 0 {
				m.problem.Columns[j] = append(m.problem.Columns[j], lp.Entry{Row: at, Value: v})
			}
		}
	}
}

func (p *Programme) meltRows(m *model, b int) {
	melt := &p.Melts[b]
	inf := math.Inf(1)
	p.meltRow(m, row{rowMass, b, 0}, melt.LeastG, melt.MostG, func(*Lot) float64 { return 1 })
	p.meltRow(m, row{rowFineness, b, 0}, 0, inf, func(l *Lot) float64 { return l.Least[melt.Metal] - melt.Fineness })
	if melt.Ceiling > 0 {
		p.meltRow(m, row{rowCeiling, b, 0}, -inf, 0, func(l *Lot) float64 { return l.Least[melt.Metal] - melt.Ceiling })
	}
	for i, limit := range melt.Limits {
		if limit.Most < 1 {
			p.meltRow(m, row{rowElementMost, b, i}, -inf, 0, func(l *Lot) float64 { return l.Most[limit.Element] - limit.Most })
		}
		if limit.Least > 0 {
			p.meltRow(m, row{rowElementLeast, b, i}, 0, inf, func(l *Lot) float64 { return l.Least[limit.Element] - limit.Least })
		}
	}
	p.windowRows(m, b)
	if melt.ScrapShare < 1 {
		p.meltRow(m, row{rowScrap, b, 0}, -inf, 0, func(l *Lot) float64 {
			if l.Bought {
				return -melt.ScrapShare
			}
			return 1 - melt.ScrapShare
		})
	}
}

// lotRow keeps what the melts take of a lot within its stock.
func (p *Programme) lotRow(m *model, k int) {
	lot := &p.Lots[k]
	low, high := math.Inf(-1), lot.StockG
	if lot.Whole {
		low = lot.StockG
	}
	if math.IsInf(high, 1) {
		return
	}
	at := m.addRow(row{rowLot, -1, k}, low, high)
	for _, columns := range m.column {
		if j := columns[k]; j >= 0 {
			m.problem.Columns[j] = append(m.problem.Columns[j], lp.Entry{Row: at, Value: 1})
		}
	}
}

// objectives sets the costs: the one asked for, the rule of sharing, then
// those that break ties.
func (p *Programme) objectives(m *model, order []int) {
	bought := m.cost(p, func(l *Lot) float64 { return flag(l.Bought) })
	price := m.cost(p, func(l *Lot) float64 { return l.PricePerG })
	client := m.cost(p, func(l *Lot) float64 { return -flag(l.clients()) })
	dear := []string{"Au", "Pt", "Pd", "Ir", "Rh", "Ru"}
	if counts := p.Melts[0].Metal; counts == "Ag" { // silver itself, before the distance from the alloy
		dear = append(dear, counts)
	}
	noble := m.cost(p, func(l *Lot) float64 { return flag(l.Bought) * worth(l, dear...) })
	silver := m.cost(p, func(l *Lot) float64 { return flag(l.Bought) * worth(l, "Ag") })
	pure := m.cost(p, func(l *Lot) float64 { return flag(l.Bought && !l.Grain) })
	ties := [][]float64{noble, silver, pure, bought, price, client}
	if distance := p.distance(m); distance != nil {
		ties = [][]float64{noble, distance, silver, pure, bought, price, client}
	}
	first := [][]float64{bought}
	switch p.Objective {
	case LeastCost:
		first = [][]float64{price}
	case MostClient:
		first = [][]float64{client}
	case LeastChange:
		first = [][]float64{m.cost(p, func(l *Lot) float64 { return 2*flag(l.Bought) - 1 })}
	case fineFirst:
		fine := m.cost(p, func(l *Lot) float64 { return flag(l.Bought) * l.Least[p.Melts[0].Metal] })
		first = [][]float64{fine}
		if p.fixed() {
			first = append(first, client)
		}
	case LeastFine:
		unready := m.cost(p, func(l *Lot) float64 { return flag(l.Unready) })
		first = [][]float64{client, unready}
		if !p.fixed() { // else a melt would grow to take the clients' metal
			all := m.cost(p, func(*Lot) float64 { return 1 })
			first = [][]float64{noble, silver, all, client}
		}
	}
	m.problem.Costs = nil
	for _, c := range append(first, ties...) { // a column may have joined since the costs were made
		m.problem.Costs = append(m.problem.Costs, append(c, make([]float64, len(m.problem.Columns)-len(c))...))
	}
	p.share(m)
	// Multiples of the golden ratio have no ties worth the name.
	last, rank := make([]float64, len(m.problem.Columns)), 0.0
	for a := range p.Melts {
		for _, k := range order {
			if j := m.column[a][k]; j >= 0 {
				rank++
				_, last[j] = math.Modf(rank * math.Phi)
			}
		}
	}
	m.problem.Costs = append(m.problem.Costs, last)
}

// share inserts, behind the first objective, those of the rule of sharing.
func (p *Programme) share(m *model) {
	if len(p.Melts) == 1 {
		return
	}
	switch p.Apportion {
	case FirstShare:
		for a := range p.Melts {
			c := make([]float64, len(m.problem.Columns))
			for k, j := range m.column[a] {
				if j >= 0 && p.Lots[k].clients() {
					c[j] = -1
				}
			}
			m.problem.Costs = slices.Insert(m.problem.Costs, 1+a, c)
		}
	case EvenShare: // one more column: a share that every melt's clients' metal reaches
		z := len(m.problem.Columns)
		m.problem.Columns = append(m.problem.Columns, nil)
		m.problem.Low, m.problem.High = append(m.problem.Low, 0), append(m.problem.High, 1)
		m.problem.Typical = append(m.problem.Typical, 1)
		for b := range p.Melts {
			p.meltRow(m, row{rowEven, b, 0}, 0, math.Inf(1), func(l *Lot) float64 { return flag(l.clients()) })
			m.problem.Columns[z] = append(m.problem.Columns[z], lp.Entry{Row: len(m.rows) - 1, Value: -p.Melts[b].LeastG})
		}
		for i, c := range m.problem.Costs {
			m.problem.Costs[i] = append(c, 0)
		}
		c := make([]float64, z+1)
		c[z] = -1
		m.problem.Costs = slices.Insert(m.problem.Costs, 1, c)
	}
}

func (l *Lot) clients() bool { return l.Owner != "" && !l.Bought }

func (m *model) cost(p *Programme, per func(*Lot) float64) []float64 {
	c := make([]float64, len(m.problem.Columns))
	for _, columns := range m.column {
		for k, j := range columns {
			if j >= 0 {
				c[j] = per(&p.Lots[k])
			}
		}
	}
	return c
}

func flag(b bool) float64 {
	if b {
		return 1
	}
	return 0
}
