#!/usr/bin/env bash
# Hostile clients at one server, then load on three replicas behind nginx
# while one is asked to stop and one is killed. About 45 s.
set -euo pipefail
cd "$(dirname "$0")/../.."
. .ci/server.sh

need nginx nginx-light
ulimit -n 20000

go build -o "$work/hosting" .ci/checks/hosting/main.go

start_server --rate 0
"$work/pourwright" health --addr "${url#http://}"
"$work/hosting" hostile "${url#http://}" "$pid"

conf=$(cat .ci/checks/hosting/nginx.conf)
victims=()
for name in A B C; do
	start_server --rate 0 --settle 1s --trusted-proxies 127.0.0.0/8
	victims+=("$pid")
	conf=${conf//@$name@/${url##*:}}
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
