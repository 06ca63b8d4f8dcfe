#!/usr/bin/env bash
# Solids and prints measured with other people's programs: formers are
# watertight and of the volume that meshes answers, and what is printed at 1:1
# measures so in pixels.
set -euo pipefail
cd "$(dirname "$0")/../.."
source .ci/server.sh
need admesh admesh
need pdftoppm poppler-utils
need chromium chromium
/usr/bin/python3 -c 'import stl' 2>/dev/null || need no-such-command python3-stl
start_server

# admesh says whether a solid is closed; it sums volumes in single precision,
# so numpy-stl is asked for those.
for body in \
	'{"inside_diameter_mm": 62.9}' \
	'{"kind": "ring_cutter", "inside_diameter_mm": 62, "label": "62"}' \
	'{"inside_width_mm": 65, "inside_height_mm": 55, "label": "65 X 55", "relief": "raised"}' \
	'{"kind": "strip", "inside_diameter_mm": 62.9, "strip_thickness_mm": 0.8, "depth_mm": 15}' \
	'{"kind": "wedge"}'; do
	curl -sf --json "$body" "$url/v1/formers?format=stl" -o "$work/former.stl"
	admesh "$work/former.stl" >"$work/admesh.txt"
	grep -q 'Total disconnected facets *: *0 *0$' "$work/admesh.txt"
	grep -Eq 'Degenerate facets *: *0$' "$work/admesh.txt"
	grep -Eq 'Facets reversed *: *0$' "$work/admesh.txt"
	theirs=$(/usr/bin/python3 .ci/checks/solids/volume.py "$work/former.stl" 2>/dev/null | tail -1)
	ours=$(curl -sf -H 'Content-Type: model/stl' --data-binary "@$work/former.stl" "$url/v1/meshes?pick=volume_mm3")
	# A millionth, or half of the last place that volumes are written with.
	awk -v a="$theirs" -v b="$ours" 'BEGIN { d = a - b; t = 1e-6 * b; if (t < 0.00501) t = 0.00501; exit !(d < t && d > -t) }' || {
		echo "$body: numpy-stl finds $theirs mm³, meshes $ours"
		exit 1
	}
	echo "$body: $ours mm³, numpy-stl $theirs"
done

# Prints: 20 dots a millimetre. Half a line's width (0.1 mm) on either side of
# the bar's ends is the bar's own.
curl -sf --json '{"inside_diameter_mm": 62.9}' "$url/v1/formers?format=pdf" -o "$work/former.pdf"
pdfinfo "$work/former.pdf" | grep -q 'Page size: *595.276 x 841.89 pts (A4)'
pdftoppm -r 508 -gray "$work/former.pdf" "$work/page"
/usr/bin/python3 .ci/checks/solids/measure.py "$work"/page-1.pgm 20 >"$work/measured"
read -r bar disc <"$work/measured"
awk -v bar="$bar" -v disc="$disc" 'BEGIN { exit !(bar > 99.9 && bar < 100.3 && disc > 62.8 && disc < 63.0) }' || {
	echo "the 100 mm bar measures $bar mm, the 62.9 mm disc $disc mm"
	exit 1
}
echo "the 100 mm bar measures $bar mm, the 62.9 mm disc $disc mm"

# Unions: forty random assemblies against a solid modeller.
cp .ci/checks/solids/package.json .ci/checks/solids/assemblies.mjs "$work"
(cd "$work" && npm install --no-fund --no-audit --silent && node assemblies.mjs "$url" 40)

# Pictures: a stone layout measured in a real browser at 96 dots an inch.
go test -count=1 -v -run Browser ./internal/picture | tee "$work/browser.txt"
grep -q '^--- PASS' "$work/browser.txt"
