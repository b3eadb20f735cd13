#!/usr/bin/env bash
# A scratch PostgreSQL on loopback for tests: `start DIR` prints its connection words, `stop DIR` ends it and removes DIR.
# PostgreSQL refuses to run as root, so root hands over to the user postgres, who must be able to enter DIR.
set -euo pipefail
verb=${1:?start or stop} dir=${2:?a folder}
bin=$(dirname "$(ls -d /usr/lib/postgresql/*/bin/initdb 2>/dev/null | sort -V | tail -1)")
[ "$bin" != . ] || bin=$(dirname "$(command -v initdb)")
as() { if [ "$(id -u)" = 0 ]; then runuser -u postgres -- "$@"; else "$@"; fi; }
case $verb in
start)
  mkdir -p "$dir"
  dir=$(cd "$dir" && pwd)
  [ "$(id -u)" != 0 ] || chown postgres "$dir"
  chmod 711 "$dir"
  cd "$dir"
  port=$(python3 -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])')
  as "$bin/initdb" -D "$dir/data" -U pullstring --auth=trust -E UTF8 --locale=C.UTF-8 >/dev/null
  as "$bin/pg_ctl" -D "$dir/data" -w -l "$dir/log" -o "-p $port -h 127.0.0.1 -k '$dir'" start >/dev/null
  as "$bin/createdb" -h 127.0.0.1 -p "$port" -U pullstring pullstring
  echo "host=127.0.0.1 port=$port user=pullstring dbname=pullstring"
  ;;
stop)
  cd "$dir"
  as "$bin/pg_ctl" -D "$dir/data" -m fast -w stop >/dev/null || true
  cd / && rm -rf "$dir"
  ;;
*)
  echo "pg_scratch.sh: say start DIR or stop DIR, not '$verb'." >&2
  exit 2
  ;;
esac
