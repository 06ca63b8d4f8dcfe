package sizing

import (
	"context"
	"fmt"
	"math"

	"pourwright/internal/calc"
)

// RingTableIn asks for a table of ring sizes.
type RingTableIn struct {
	By     System  `json:"by" enum:"circumference,diameter,us,uk,japan,continental,swiss,italian,spanish,indian,hong_kong" default:"us" doc:"The system whose marked sizes make the rows"`
	FromMM float64 `json:"from_mm" minimum:"20" maximum:"130" default:"41" doc:"Least inside circumference"`
	ToMM   float64 `json:"to_mm" minimum:"20" maximum:"130" default:"76" doc:"Greatest inside circumference"`
}

// RingTableOut is a conversion table.
type RingTableOut struct {
	Count int       `json:"count" doc:"Number of rows"`
	Rows  []RingRow `json:"rows" doc:"One row for each marked size of the system asked for"`
	calc.Notes
}

// RingRow is a size and its nearest sizes in the other systems.
type RingRow struct {
	Size            string  `json:"size" doc:"Marked size in the system of the rows"`
	CircumferenceMM float64 `json:"circumference_mm" doc:"Inside circumference"`
	DiameterMM      float64 `json:"diameter_mm" doc:"Inside diameter"`
	ISO             string  `json:"iso" doc:"Nearest ISO 8653 size"`
	US              string  `json:"us" doc:"Nearest US size"`
	UK              string  `json:"uk" doc:"Nearest UK size"`
	Japan           string  `json:"japan" doc:"Nearest Japanese number"`
	Continental     string  `json:"continental" doc:"Nearest continental size, circumference less 40"`
	HongKong        string  `json:"hong_kong" doc:"Nearest Hong Kong number"`
}

// RingTables makes a conversion table, a row for each marked size of a system.
func RingTables(ctx context.Context, in RingTableIn) (RingTableOut, error) {
	s, ok := scaleOf(in.By)
	if !ok {
		return RingTableOut{}, calc.Refuse("by", in.By, "give one of %v", Systems)
	}
	var checks calc.Checks
	checks.Bounds(in)
	if in.ToMM < in.FromMM {
		checks.Refuse("to_mm", in.ToMM, "give at least from_mm (%g)", in.FromMM)
	}
	if err := checks.Err(); err != nil {
		return RingTableOut{}, err
	}
	out := RingTableOut{Rows: []RingRow{}, Notes: calc.Noting(ctx)}
	const slack = 1e-9 // of a step: a size that lies on the bound is in
	first, last := math.Ceil(s.value(in.FromMM)/s.quantum-slack), math.Floor(s.value(in.ToMM)/s.quantum+slack)
	for k := first; k <= last; k++ {
		n := k * s.quantum
		c := s.circumference(n)
		row := RingRow{Size: s.label(n), CircumferenceMM: c, DiameterMM: c / math.Pi}
		row.ISO, _ = Label(Circumference, c)
		row.US, _ = Label(US, c)
		row.UK, _ = Label(UK, c)
		row.Japan, _ = Label(Japan, c)
		row.Continental, _ = Label(Continental, c)
		row.HongKong, _ = Label(HongKong, c)
		out.Rows = append(out.Rows, row)
	}
	out.Count = len(out.Rows)
	out.Step("rows", float64(out.Count), "", "%s from C = %.6g mm + %.6g mm × n, marked every %g, %g to %g mm", s.name, s.zero, s.step, s.quantum, in.FromMM, in.ToMM)
	if out.Count == 0 {
		return RingTableOut{}, calc.Refuse("to_mm", in.ToMM, "no marked size of %s lies between %g and %g mm; give a wider range", in.By, in.FromMM, in.ToMM)
	}
	if in.By == US {
		out.Warn("us_no_standard", calc.Note, "%s", usNoStandard)
	}
	for _, s := range scales {
		out.Cite(s.source)
	}
	out.Cite(srcNoTolerance)
	return out, nil
}

// CSV writes the table with its sizes to 0.001 mm.
func (t RingTableOut) CSV() []byte {
	b := []byte("size,circumference_mm,diameter_mm,iso,us,uk,japan,continental,hong_kong\r\n")
	for _, r := range t.Rows {
		b = fmt.Appendf(b, "%s,%.3f,%.3f,%s,%s,%s,%s,%s,%s\r\n", r.Size, r.CircumferenceMM, r.DiameterMM, r.ISO, r.US, r.UK, r.Japan, r.Continental, r.HongKong)
	}
	return b
}
