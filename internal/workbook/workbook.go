// Package workbook makes the starter workbook: a spreadsheet whose cells call
// the server, for one order, forty enquiries, sizes and a melt.
package workbook

import (
	"bytes"
	"fmt"
	"time"

	"github.com/xuri/excelize/v2"

	"pourwright/internal/calc"
	"pourwright/internal/safety"
)

// MediaType of a workbook.
const MediaType = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

// Address is that of a server on the maker's own machine, as it comes.
const Address = "http://127.0.0.1:8080"

// Enquiries is how many rows of the sheet of quotes are ready.
const Enquiries = 40

const invented = "Every name and figure in the yellow cells is invented. Put your own in their place; the green cells ask the server."

// Build makes the workbook for a server at that address, such as
// "http://127.0.0.1:8080". The same address gives the same bytes.
func Build(address string) ([]byte, error) {
	f := excelize.NewFile()
	defer f.Close()
	looks, err := styles(f)
	if err != nil {
		return nil, err
	}
	if err := f.SetSheetName("Sheet1", "Start"); err != nil {
		return nil, err
	}
	err = f.SetDefinedName(&excelize.DefinedName{Name: "Server", RefersTo: "Start!$B$3", Comment: "Address of the server"})
	if err != nil {
		return nil, err
	}
	start := &page{file: f, name: "Start", looks: looks}
	start.start(address)
	if start.err != nil {
		return nil, start.err
	}
	for _, s := range []struct {
		name string
		fill func(*page)
	}{{"Order", (*page).order}, {"Quotes", (*page).quotes}, {"Sizes", (*page).sizes}, {"Melt", (*page).melt}} {
		if _, err := f.NewSheet(s.name); err != nil {
			return nil, err
		}
		p := &page{file: f, name: s.name, looks: looks}
		if s.fill(p); p.err != nil {
			return nil, p.err
		}
	}
	fully := true
	if err := f.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: &fully}); err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = f.Write(&b)
	return b.Bytes(), err
}

func (p *page) start(address string) {
	p.widths("A:A", 24)
	p.widths("B:B", 110)
	p.put("A1", "Pourwright: a workbook to start from", title)
	p.put("A3", "Address of the server", heading)
	p.put("B3", address, entry)
	p.put("B4", "Without a slash at the end. All the other sheets ask this server, and no other.", aside)
	p.put("A6", "Does it answer?", heading)
	p.put("B6", `=IFERROR(IF(_xlfn.NUMBERVALUE(_xlfn.WEBSERVICE(Server&"/v1/ring-sizes?size=7&system=us&pick=diameter_mm&errors=text"),".",",")>0,"yes"),"no: start the server, check the address, and allow the workbook to fetch")`, result)
	lines := []string{
		invented,
		"A cell that begins with ! says in words what the server did not accept. Empty cells are left out of the question.",
		"Order: one piece from size to price. Quotes: forty enquiries at once, on shared terms. Sizes: a ring size in every system. Melt: metal, heat and gas for a casting.",
		"Excel asks before it fetches: enable content. LibreOffice asks to update links: allow it. To ask again, recalculate hard (Ctrl+Alt+F9 in Excel, Ctrl+Shift+F9 in LibreOffice Calc).",
		"Google Sheets has no WEBSERVICE and cannot reach a server on your own machine; see the page on spreadsheets in the documentation.",
		"A price here is a calculation on your figures, not an offer. A mass is a calculation on your measures: weigh the metal.",
	}
	for i, l := range lines {
		p.put(fmt.Sprintf("B%d", 8+i), l, "")
	}
	p.put("A15", "Before you pour", heading)
	cautions := []calc.Caution{safety.MoltenMetal, safety.DampMould, safety.TorchGas, safety.DirtyScrap, safety.ZincFume, safety.Cadmium, safety.Lead,
		safety.OilSmoke, safety.HotMould, safety.StoneConsent, safety.HallmarkLaw, safety.ConsumerLaw}
	for i, c := range cautions {
		look := warning
		if c.Severity != calc.Danger {
			look = ""
		}
		p.put(fmt.Sprintf("B%d", 15+i), c.Text, look)
	}
}

// head writes a sheet's title and says that its figures are invented.
func (p *page) head(what string) {
	p.put("A1", what, title)
	p.put("A2", invented, aside)
}

func (p *page) columns() {
	p.widths("A:A", 34)
	p.widths("B:B", 22)
	p.widths("C:C", 14)
	p.widths("D:D", 62)
	p.widths("F:G", 18)
}

func ymd(year int, month time.Month, day int) time.Time {
	return time.Date(year, month, day, 0, 0, 0, 0, time.UTC)
}
