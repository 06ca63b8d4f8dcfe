#!/usr/bin/env bash
# Hostile clients at one server, then load on three replicas behind nginx
# while one is asked to stop and one is killed. About 45 s.
set -euo pipefail
cd "$(dirname "$0")/../.."
if ! command -v nginx >/dev/null; then
	apt-get update -q >/dev/null
	DEBIAN_FRONTEND=noninteractive apt-get install -q -y --no-install-recommends nginx-light >/dev/null
fi
ulimit -n 20000

work=$(mktemp -d)
pids=()
finish() {
	for pid in "${pids[@]}"; do kill "$pid" 2>/dev/null || true; done
	wait
	rm -rf "$work"
}
trap finish EXIT
go build -o "$work/pourwright" ./cmd/pourwright
go build -o "$work/hosting" .ci/checks/hosting/main.go

# start NAME FLAGS: a server on a free port; sets pid and addr.
start() {
	local name=$1
	shift
	"$work/pourwright" serve --addr 127.0.0.1:0 --rate 0 "$@" 2>"$work/$name.log" &
	pid=$!
	pids+=("$pid")
	addr=
	for _ in $(seq 100); do
		addr=$(sed -n 's|.*msg=listening url=http://\([^ ]*\).*|\1|p' "$work/$name.log")
		[ -n "$addr" ] && return
		sleep 0.1
	done
	cat "$work/$name.log"
	exit 1
}

start hostile
"$work/pourwright" health --addr "$addr"
"$work/hosting" hostile "$addr" "$pid"

conf=$(cat .ci/checks/hosting/nginx.conf)
victims=()
for name in A B C; do
	start "$name" --settle 1s --trusted-proxies 127.0.0.0/8
	victims+=("$pid")
	conf=${conf//@$name@/${addr##*:}}
done
mkdir "$work/nginx"
for _ in $(seq 10); do # a port that is free now; another try if it is taken meanwhile
	port=$((20000 + RANDOM % 20000))
	echo "${conf//@PORT@/$port}" >"$work/nginx/nginx.conf"
	nginx -p "$work/nginx" -c nginx.conf &
	proxy=$!
	sleep 0.5
	if kill -0 "$proxy" 2>/dev/null; then
		pids+=("$proxy")
		break
	fi
done
"$work/hosting" replicas "http://127.0.0.1:$port" "${victims[0]}" "${victims[1]}"
