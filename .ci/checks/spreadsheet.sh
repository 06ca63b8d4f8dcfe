#!/usr/bin/env bash
# A real LibreOffice opens sheets whose cells call a running server, and reads
# back tables that went through /rows. About 40 s, and with the installation
# of LibreOffice two minutes.
set -euo pipefail
cd "$(dirname "$0")/../.."
. .ci/server.sh

need soffice libreoffice-calc python3-uno
start_server

"$work/pourwright" workbook >"$work/again.xlsx"
cmp "$work/again.xlsx" docs/starter-workbook.xlsx || {
	echo "docs/starter-workbook.xlsx is not what the program makes: make workbook"
	exit 1
}

# Not another Python: the bridge to LibreOffice is the system's.
/usr/bin/python3 .ci/checks/spreadsheet/check.py "$work" "$url" docs/starter-workbook.xlsx
