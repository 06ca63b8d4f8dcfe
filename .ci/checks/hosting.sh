#!/usr/bin/env bash
# The files of docs/deploy as far as Debian's packages read them; hostile
# clients; every attack on a server of 512 MiB; and load on three replicas
# behind the documented nginx while they are stopped and killed. About 8
# minutes; ATTACK_EACH, ATTACK_ALL and CHURN make it longer or shorter.
set -euo pipefail
cd "$(dirname "$0")/../.."
. .ci/server.sh

need nginx nginx-light
need systemd-analyze systemd
need caddy caddy
ulimit -n 20000

sed 's#/usr/local/bin/pourwright#/bin/true#' docs/deploy/pourwright.service >"$work/pourwright.service"
systemd-analyze verify "$work/pourwright.service"
caddy validate --adapter caddyfile --config docs/deploy/Caddyfile 2>"$work/caddy.log" || { cat "$work/caddy.log"; exit 1; }
.ci/checks/hosting/kubernetes.sh

go build -o "$work/hosting" ./.ci/checks/hosting
go build -o "$work/attack" ./.ci/checks/hosting/attack

start_server --rate 0
"$work/pourwright" health --addr "${url#http://}"
"$work/hosting" hostile "${url#http://}" "$pid"

# As documented for 512 MiB.
export GOMEMLIMIT=400MiB
start_server --rate 0
unset GOMEMLIMIT
"$work/attack" -addr "${url#http://}" -pid "$pid" -each "${ATTACK_EACH:-20s}" -all "${ATTACK_ALL:-2m}" -memory 512

# The documented file, without TLS and on ports that are free.
ports=()
for _ in 1 2 3 4; do ports+=($((20000 + RANDOM % 20000))); done
mkdir "$work/nginx"
{
	echo 'daemon off; pid nginx.pid; error_log error.log; events { worker_connections 1024; } http { access_log off;'
	echo 'client_body_temp_path body; proxy_temp_path proxy; fastcgi_temp_path fastcgi; uwsgi_temp_path uwsgi; scgi_temp_path scgi;'
	sed -e "s/listen 443 ssl/listen 127.0.0.1:${ports[3]}/; /ssl_certificate/d; s/8081/${ports[0]}/; s/8082/${ports[1]}/; s/8083/${ports[2]}/" docs/deploy/nginx.conf
	echo '}'
} >"$work/nginx/nginx.conf"
nginx -p "$work/nginx" -c nginx.conf -t 2>"$work/nginx.log" || { cat "$work/nginx.log"; exit 1; }
nginx -p "$work/nginx" -c nginx.conf &
pids+=("$!")
"$work/hosting" churn "http://127.0.0.1:${ports[3]}" "${CHURN:-3m}" "$work/pourwright" "${ports[@]:0:3}"
