# Sourced by the checks: a scratch folder in $work and, on asking, a server of
# this checkout at $url. Both go with the script.
work=$(mktemp -d)
server=
finish() {
	[ -z "$server" ] || kill "$server"
	rm -rf "$work"
}
trap finish EXIT

# start_server [FLAGS...] builds the program and serves on a free port.
start_server() {
	go build -o "$work/pourwright" ./cmd/pourwright
	"$work/pourwright" serve --addr 127.0.0.1:0 "$@" 2>"$work/server.log" &
	server=$!
	url=
	for _ in $(seq 100); do
		url=$(sed -n 's/.*msg=listening.* url=\([^ ]*\).*/\1/p' "$work/server.log")
		[ -n "$url" ] && return
		sleep 0.1
	done
	cat "$work/server.log"
	return 1
}

# need COMMAND PACKAGE... installs Debian packages unless the command is there.
need() {
	command -v "$1" >/dev/null && return
	shift
	apt-get update -q >/dev/null
	DEBIAN_FRONTEND=noninteractive apt-get install -q -y --no-install-recommends "$@" >/dev/null
}
