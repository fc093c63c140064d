#!/usr/bin/env bash
# Runs a command with a throwaway PostgreSQL at hand, and takes it away again.
#
#   test/with-postgres.sh go test ./internal/store/...
#
# The command finds the cluster in PINSET_TEST_POSTGRES (see internal/testdb).
# The cluster listens on a socket in a private folder and on no port.
set -euo pipefail
. "$(dirname "$0")/need.sh"

# programs prints the folder of the newest PostgreSQL on this machine.
programs() {
	local found
	found=$(ls -d /usr/lib/postgresql/*/bin/initdb 2>/dev/null | sort -V | tail -n 1)
	[ -n "$found" ] || found=$(command -v initdb) || return 1
	dirname "$(readlink -f "$found")"
}

# as_owner runs a command as the user that owns the cluster: initdb and
# postgres refuse to run as root.
as_owner() {
	if [ "$(id -u)" = 0 ]; then runuser -u "$owner" -- "$@"; else "$@"; fi
}

stop() {
	cd /
	as_owner "$bin/pg_ctl" --pgdata="$dir/data" --mode=immediate --silent stop >&2 || true
	rm -rf "$dir"
}

if ! bin=$(programs) && ! { install postgresql && bin=$(programs); }; then
	missing "there is no PostgreSQL" "the tests on PostgreSQL"
	exec env -u PINSET_TEST_POSTGRES "$@"
fi

owner=$(id -un)
if [ "$(id -u)" = 0 ]; then
	owner=nobody
	if id -u postgres >/dev/null 2>&1; then owner=postgres; fi
fi

dir=$(mktemp -d "${TMPDIR:-/tmp}/pinset-pg.XXXXXX")
trap stop EXIT
trap 'exit 130' INT
trap 'exit 143' TERM
chown "$owner" "$dir"

(
	cd "$dir" # the owner may have no right to stand where we are
	if ! as_owner "$bin/initdb" --pgdata="$dir/data" --username=pinset --auth=trust \
		--encoding=UTF8 --locale=C --no-sync >"$dir/initdb.log" 2>&1; then
		cat "$dir/initdb.log" >&2
		exit 1
	fi
	# Nothing here outlives the run, so nothing is forced to disk.
	if ! as_owner "$bin/pg_ctl" --pgdata="$dir/data" --log="$dir/log" --wait --silent start \
		--options="-c listen_addresses='' -c unix_socket_directories='$dir' -c fsync=off -c full_page_writes=off" >&2; then
		cat "$dir/log" >&2
		exit 1
	fi
)
printf '%s, for this run only\n' "$("$bin/postgres" --version)" >&2

PINSET_TEST_POSTGRES="postgres://pinset@/postgres?host=$dir" "$@"
