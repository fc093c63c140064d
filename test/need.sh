# What the other scripts share, to be sourced: how something missing is put
# right, and how it is said when it can not be.

# install installs Debian packages where that is possible: as root, with apt.
install() {
	[ "$(id -u)" = 0 ] && command -v apt-get >/dev/null || return 1
	printf 'installing %s with apt-get\n' "$*" >&2
	{
		apt-get update -q &&
			DEBIAN_FRONTEND=noninteractive apt-get install -q -y --no-install-recommends "$@"
	} </dev/null >&2
}

# missing says what is missing and what is skipped for it. In CI, and where
# PINSET_REQUIRE_ALL is set, nothing may be skipped, so it ends the script.
missing() {
	printf '%s\n' "$1" >&2
	if [ -n "${CI:-}${PINSET_REQUIRE_ALL:-}" ]; then
		printf 'failed: nothing may be skipped here: %s\n' "$2" >&2
		exit 1
	fi
	printf 'skipped: %s\n' "$2" >&2
}
