"""Sheets that call the server, and a sheet that goes through /rows, in a real
LibreOffice. Usage: check.py FOLDER SERVER STARTER-WORKBOOK"""

import json
import pathlib
import shutil
import sys
import time
import urllib.parse
import urllib.request

from office import Office, cell, recalculated, save, CSV
from com.sun.star.awt import Rectangle
from com.sun.star.table import CellRangeAddress

folder, server, starter = sys.argv[1:]
folder = pathlib.Path(folder)
fetched = folder / "fetched.xlsx"


def ask(calculation, **query):
    with urllib.request.urlopen(f"{server}/v1/{calculation}?{urllib.parse.urlencode(query)}") as r:
        return json.load(r)


def near(got, want, what):
    if not isinstance(got, (int, float)) or abs(got - float(want)) > 1e-6 * max(1, abs(float(want))):
        sys.exit(f"{what}: {got!r}, want {want!r}")


def same(got, want, what):
    if got != want:
        sys.exit(f"{what}: {got!r}, want {want!r}")


def own_sheet(office):
    """A sheet as a maker would write it, in a locale with decimal commas."""
    doc = office.new()
    sheet = doc.Sheets.getByIndex(0)
    sheet.Name = "Mine"
    for name, value in {"B1": server, "B2": "6 3/4", "B4": "half_round"}.items():
        sheet.getCellRangeByName(name).String = value
    for name, value in {"B3": 62.5, "B5": 2.4, "B6": 6.25}.items():
        sheet.getCellRangeByName(name).Value = value
    ring = 'B1&"/v1/ring-sizes?errors=text&system=us&size="&ENCODEURL(B2)&"&pick='
    melt = ('B1&"/v1/melts?errors=text&alloy=silver-925&shape="&B4&"&inside_diameter_mm="&SUBSTITUTE(B3;",";".")'
            '&"&thickness_mm="&SUBSTITUTE(B5;",";".")&"&width_mm="&SUBSTITUTE(B6;",";".")&"&pick=')
    for name, formula in {
        "B8": f'=NUMBERVALUE(WEBSERVICE({ring}diameter_mm");".";",")',
        "B9": f'=WEBSERVICE({ring}uk.size")',
        "B10": f'=NUMBERVALUE(WEBSERVICE({melt}melt_mass_g");".";",")',
        "B11": '=WEBSERVICE(B1&"/v1/melts?errors=text&alloy=silver-925&volume_mm3=-1&pick=melt_mass_g")',
        "B12": '=IFERROR(WEBSERVICE(B1&"/v1/melts?alloy=silver-925&volume_mm3=-1&pick=melt_mass_g");"refused")',
        "B13": '=WEBSERVICE(B1&"/v1/ring-sizes?system=us&size=7&format=csv&working=false")',
    }.items():
        sheet.getCellRangeByName(name).Formula = formula
    path = folder / "mine.xlsx"
    save(doc, path)
    doc.close(True)

    doc = recalculated(office.open(path))
    ring = ask("ring-sizes", system="us", size="6 3/4")
    melt = ask("melts", alloy="silver-925", shape="half_round", inside_diameter_mm=62.5, thickness_mm=2.4, width_mm=6.25)
    near(cell(doc, "Mine", "B8").Value, ring["diameter_mm"], "diameter")
    same(cell(doc, "Mine", "B9").String, ring["uk"]["size"], "UK size")
    near(cell(doc, "Mine", "B10").Value, melt["melt_mass_g"], "melt mass")
    if not cell(doc, "Mine", "B11").String.startswith("! volume_mm3: give a number"):
        sys.exit("an error in a cell reads " + cell(doc, "Mine", "B11").String)
    same(cell(doc, "Mine", "B12").String, "refused", "a refusal without errors=text")
    if not cell(doc, "Mine", "B13").String.startswith("circumference_mm,diameter_mm"):
        sys.exit("a whole answer reads " + cell(doc, "Mine", "B13").String)
    doc.close(True)


def starter_workbook(office, path, address=None):
    doc = office.open(path)
    if address:
        cell(doc, "Start", "B3").String = address
    same(cell(doc, "Start", "B3").String, server, "address in the workbook")
    recalculated(doc)
    same(cell(doc, "Start", "B6").String, "yes", "does it answer")
    for sheet, cells in {
        "Order": [f"B{r}" for r in range(38, 52)],
        "Quotes": [f"{c}{r}" for r in range(8, 13) for c in "OPQR"],
        "Sizes": [f"{c}{r}" for r in range(5, 11) for c in "CD"],
        "Melt": [f"B{r}" for r in range(17, 24)],
    }.items():
        for name in cells:
            c = cell(doc, sheet, name)
            if c.Error or c.String == "" or c.FormulaResultType2 != 1:  # VALUE
                sys.exit(f"{sheet}.{name}: {c.String!r}, want a number")
    for sheet, cells in {"Order": [f"F{r}" for r in range(53, 58)], "Quotes": [f"T{r}" for r in range(8, 14)]}.items():
        for name in cells:
            address = cell(doc, sheet, name).String
            if not server < address or len(address) > 1900:  # and the field to pick
                sys.exit(f"{sheet}.{name}: {len(address)} characters: {address}")
    for r in range(8, 13):
        same(cell(doc, "Quotes", f"S{r}").String, "", f"trouble in row {r}")
    wrong = cell(doc, "Quotes", "S13").String
    if not wrong.startswith("client_metal_fineness_permil: give the fineness"):
        sys.exit("the enquiry that lacks a fineness reads " + wrong)
    same(cell(doc, "Quotes", "O13").String, "", "its price")
    same(cell(doc, "Quotes", "O20").String, "", "the price of an empty row")

    melt = ask("melts", alloy="silver-925", pattern_mass_g=3.9, pattern_material="wax", sprue_diameter_mm=6,
               sprue_length_mm=25, torch_kw=6, fuel="propane")
    near(cell(doc, "Melt", "B17").Value, melt["melt_mass_g"], "melt mass")
    near(cell(doc, "Melt", "B23").Value, melt["fuel_g"], "gas")
    same(cell(doc, "Melt", "B24").String, melt["cautions"][0]["text"], "caution")
    mould = ask("mould-sizes", alloy="silver-925", inside_diameter_mm=62, shape="half_round", thickness_mm=2.4, width_mm=6)
    near(cell(doc, "Order", "B38").Value, mould["mould"]["inside_diameter_mm"], "mould")
    quote = ask("quotes", currency="EUR", metal="silver", fineness_permil=925, metal_price_per_gram=0.95,
                metal_price_date="2026-11-23", hourly_rate=38, failure_pct=10, overhead_pct=20, markup_pct=25, tax_pct=21,
                deposit_pct=50, piece="half-round bangle", pieces=1, piece_g=38, cast_g=62, client_metal_g=45,
                client_metal_fineness_permil=900, mould_min=40, pour_min=30, setting_min=20, cleaning_min=45, polishing_min=40)
    near(cell(doc, "Quotes", "O8").Value, quote["total"], "total")
    near(cell(doc, "Quotes", "R8").Value, quote["deposit"], "deposit")
    for i, system in enumerate(("iso", "us", "uk", "japan")):
        want = ask("ring-sizes", system="uk", size="N 1/2")[system]["size"]
        got = cell(doc, "Sizes", f"{'EFGH'[i]}6").String
        if got.replace(",", ".") != want:
            sys.exit(f"size {system}: {got!r}, want {want!r}")
    doc.close(True)


def post(path, media_type, options=""):
    request = urllib.request.Request(f"{server}/v1/quotes/rows{options}", path.read_bytes(), {"Content-Type": media_type})
    with urllib.request.urlopen(request) as r:
        return r.read()


def through_rows(office):
    """A workbook of LibreOffice's own, with a chart and formulas that rest on
    the answers, comes back with them and reckons with the answers."""
    doc = office.new()
    sheet = doc.Sheets.getByIndex(0)
    sheet.Name = "Enquiries"
    doc.Sheets.insertNewByName("Sums", 1)
    head = ["who", "currency", "piece_g (dwt)", "fineness_permil", "metal_price_per_gram", "hourly_rate", "polishing_min", "quote_date", "tax_pct"]
    for i, h in enumerate(head):
        sheet.getCellByPosition(i, 2).String = h
    percent = doc.NumberFormats.queryKey("0%", doc.CharLocale, False)
    for r, fineness in enumerate((925, 958, 2000), start=3):
        for i, v in enumerate(["=mine", "EUR", 20.5, fineness, 0.95, 38, 60, None, 0.21]):
            c = sheet.getCellByPosition(i, r)
            if isinstance(v, str):
                c.String = v
            elif v is not None:
                c.Value = v
        sheet.getCellByPosition(7, r).Formula = "=DATE(2026;11;25)"
        sheet.getCellByPosition(8, r).NumberFormat = percent
    sums = doc.Sheets.getByName("Sums")
    sums.getCellRangeByName("A1").Formula = "=SUM($Enquiries.J4:J6)"
    sums.getCellRangeByName("A2").Formula = "=A1*2"
    area = CellRangeAddress(1, 0, 0, 0, 1)
    sums.Charts.addNewByName("totals", Rectangle(1000, 3000, 8000, 6000), (area,), False, False)
    path = folder / "enquiries.xlsx"
    save(doc, path)
    date = sheet.getCellRangeByName("H4").String
    doc.close(True)

    answered = folder / "answered.xlsx"
    answered.write_bytes(post(path, "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"))
    doc = office.open(answered)
    same(cell(doc, "Enquiries", "J3").String, "total", "first answer's header")
    total = 0
    for r, fineness in ((4, 925), (5, 958)):
        want = ask("quotes", currency="EUR", piece_g="20.5 dwt", fineness_permil=fineness, metal_price_per_gram=0.95,
                   hourly_rate=38, polishing_min=60, quote_date="2026-11-25", tax_pct=21)
        near(cell(doc, "Enquiries", f"J{r}").Value, want["total"], "total")
        total += float(want["total"])
    near(cell(doc, "Sums", "A1").Value, total, "a sum over the answers")
    near(cell(doc, "Sums", "A2").Value, 2 * total, "a formula on that sum")
    same(doc.Sheets.getByName("Sums").Charts.Count, 1, "charts")
    same(cell(doc, "Enquiries", "A4").String, "=mine", "a text like a formula")
    same(cell(doc, "Enquiries", "A4").Type.value, "TEXT", "its type")
    same(cell(doc, "Enquiries", "H4").String, date, "a date")
    same(cell(doc, "Enquiries", "H4").Formula, "=DATE(2026;11;25)", "its formula")
    same(cell(doc, "Enquiries", "I4").String, "21%", "a percentage")
    texts = [doc.Sheets.getByName("Enquiries").getCellByPosition(i, 5).String for i in range(9, 80)]
    if not any(t.startswith("fineness_permil: give a number from 1 to 1000") for t in texts):
        sys.exit(f"no error in the row that has one: {texts}")
    doc.close(True)


def through_european_csv(office):
    """A table as LibreOffice writes it where decimals have a comma."""
    doc = office.new()
    sheet = doc.Sheets.getByIndex(0)
    for i, (h, v) in enumerate({"who": "Müller; Söhne", "currency": "EUR", "piece_g": 20.5, "fineness_permil": 925,
                                "metal_price_per_gram": 0.95, "hourly_rate": 38.5, "polishing_min": 60}.items()):
        sheet.getCellByPosition(i, 0).String = h
        c = sheet.getCellByPosition(i, 1)
        if isinstance(v, str):
            c.String = v
        else:
            c.Value = v
    path = folder / "european.csv"
    save(doc, path, CSV, FilterOptions="59,34,76,1")  # semicolon, quote, UTF-8
    doc.close(True)
    if b"20,5" not in path.read_bytes():
        sys.exit(f"LibreOffice wrote no decimal comma: {path.read_bytes()}")
    answer = post(path, "text/csv", "?decimal=comma").decode()
    head, line = answer.splitlines()[:2]
    want = ask("quotes", currency="EUR", piece_g=20.5, fineness_permil=925, metal_price_per_gram=0.95, hourly_rate=38.5, polishing_min=60)
    same(line.split(";")[0] + ";" + line.split(";")[1], '"Müller; Söhne"', "a cell of the maker's own")
    same(line.split(";")[1 + head.split(";").index("total")], want["total"].replace(".", ","), "total in a European table")


began = time.monotonic()
with Office(folder, "de-DE") as office:
    own_sheet(office)
    through_european_csv(office)
    with urllib.request.urlopen(server + "/v1/workbook.xlsx") as r:
        fetched.write_bytes(r.read())
    starter_workbook(office, fetched)
with Office(folder, "en-GB") as office:
    copied = folder / "starter.xlsx"
    shutil.copy(starter, copied)
    starter_workbook(office, copied, server)
    through_rows(office)
print(f"LibreOffice reads and reckons as it should, in two locales ({time.monotonic() - began:.0f} s)")
