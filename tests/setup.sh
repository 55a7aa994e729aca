# Sourced by tests/run.sh and demo/run.sh, in the checkout's folder: a virtual environment with what is needed.
# INSTALL says what: "." for the tool alone, ".[dev]" for the checks as well.
fail() { echo "$*" >&2; exit 1; }

python=""
for name in python3.13 python3.12 python3.11 python3; do
    if command -v "$name" >/dev/null && "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
        python=$name
        break
    fi
done
[ -n "$python" ] || fail "Python 3.11 or newer is needed; on Debian: apt-get install python3 python3-venv"

# as root on Debian, install system packages that are missing; elsewhere say which are
need_packages() {
    missing=""
    for package in "$@"; do
        dpkg-query -W -f '${Status}' "$package" 2>/dev/null | grep -q 'ok installed' || missing="$missing $package"
    done
    [ -z "$missing" ] && return 0
    if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
        echo "Installing$missing" >&2
        apt-get update -qq >/dev/null || fail "apt-get update failed"
        # shellcheck disable=SC2086
        DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $missing >/dev/null \
            || fail "could not install$missing"
    else
        echo "Not installed, and not root with apt:$missing" >&2
    fi
}

if ! "$python" -c 'import ensurepip' 2>/dev/null; then
    need_packages python3-venv
fi
stamp=".venv/installed-$(printf %s "$INSTALL" | tr -dc a-z)-$(cksum <pyproject.toml | cut -d' ' -f1)"
if [ ! -e "$stamp" ]; then
    [ -x .venv/bin/python ] || "$python" -m venv .venv || fail "could not make a virtual environment"
    .venv/bin/python -m pip install --quiet --disable-pip-version-check -e "$INSTALL" || fail "could not install $INSTALL"
    touch "$stamp"
fi
