# Sourced by the checks: a scratch folder in $work and, on asking, servers of
# this checkout. All of it goes with the script.
work=$(mktemp -d)
pids=()
finish() {
	for pid in "${pids[@]}"; do kill "$pid" 2>/dev/null || true; done
	wait
	rm -rf "$work"
}
trap finish EXIT

build_server() {
	[ -x "$work/pourwright" ] || go build -o "$work/pourwright" ./cmd/pourwright
}

# start_server [FLAGS...] serves on a free port and sets $url and $pid.
start_server() {
	build_server
	local log=$work/server${#pids[@]}.log
	"$work/pourwright" serve --addr 127.0.0.1:0 "$@" 2>"$log" &
	pid=$!
	pids+=("$pid")
	url=
	for _ in $(seq 100); do
		url=$(sed -n 's/.*msg=listening.* url=\([^ ]*\).*/\1/p' "$log")
		[ -n "$url" ] && return
		sleep 0.1
	done
	cat "$log"
	return 1
}

# need COMMAND PACKAGE... installs Debian packages unless the command is there.
need() {
	command -v "$1" >/dev/null && return
	shift
	apt-get update -q >/dev/null
	DEBIAN_FRONTEND=noninteractive apt-get install -q -y --no-install-recommends "$@" >/dev/null
}
