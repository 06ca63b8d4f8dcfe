package heat

// rowStage does one stage of the seven-point scheme for regular clay.
func (s *solver) rowStage(c *stage, first bool, rows []row) {
	d := s.meters()
	r := float32(s.clay.Diffusivity() / (d * d))
	for i := range rows {
		q := &rows[i]
		if first {
			q.rate(s.t, s.td, s.te, s.tl, r, c.muTau)
		} else {
			q.advance(s.td, s.te, s.tl, c.mu-6*c.muTau*r, c.muTau*r, c.nu, c.muTau+c.gammaTau)
		}
		if q.first {
			s.te[q.from-1] = s.te[q.from]
		}
		if q.last {
			s.te[q.from+q.count] = s.te[q.from+q.count-1]
		}
	}
}

// rate takes the first stage of a row: the rate tl of t, and the change te.
func (q *row) rate(t, td, te, tl []float32, r, tau float32) {
	n := int(q.count)
	here, lower, upper := t[q.from:][:n], t[q.from-1:][:n], t[q.from+1:][:n]
	south, north, down, up := t[q.beside[0]:][:n], t[q.beside[1]:][:n], t[q.beside[2]:][:n], t[q.beside[3]:][:n]
	td, te, tl = td[q.from:][:n], te[q.from:][:n], tl[q.from:][:n]
	for i, v := range here {
		l := r * ((lower[i] + upper[i]) + (south[i] + north[i]) + (down[i] + up[i]) - 6*v)
		l = (l + dust) - dust
		tl[i], te[i], td[i] = l, tau*l, 0
	}
}

// dust swallows changes below 1e-25 K: ahead of the heat they would shrink to
// denormal numbers, which processors handle a hundred times slower.
const dust = 1e-18

// overread is how many cells behind the last there must be to read.
const overread = 7

// advance takes a further stage of a row: te becomes a·td + b·Σ neighbours + c·te + e·tl.
// Four arrays are read and one of them written: 16 bytes a cell.
func (q *row) advance(td, te, tl []float32, a, b, c, e float32) {
	n := int(q.count)
	here, lower, upper := td[q.from:][:n], td[q.from-1:][:n], td[q.from+1:][:n]
	south, north, down, up := td[q.beside[0]:][:n], td[q.beside[1]:][:n], td[q.beside[2]:][:n], td[q.beside[3]:][:n]
	te, tl = te[q.from:][:n], tl[q.from:][:n]
	if wide {
		advance8(&te[0], &here[0], &south[0], &north[0], &down[0], &up[0], &tl[0], n, a, b, c, e, dust)
		return
	}
	for i, v := range here {
		x := a*v + b*((lower[i]+upper[i])+(south[i]+north[i])+(down[i]+up[i])) + c*te[i] + e*tl[i]
		te[i] = (x + dust) - dust
	}
}
