# Shared by deploy/start and deploy/test; sourced, not run. Works from the project's root.

say() { printf '%s\n' "$*"; }

fail() {
    printf '%s\n' "$*" >&2
    exit 1
}

# The Python to build the environment with.
find_python() {
    for python in python3 python3.11 python3.12 python3.13; do
        if command -v "$python" >/dev/null 2>&1 &&
            "$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            return 0
        fi
    done
    fail "Python 3.11 or newer is needed and was not found. On Debian or Ubuntu: apt-get install python3"
}

# need_packages run|test: system packages, by apt when we may, in words when we may not.
need_packages() {
    packages=$("$python" -B deploy/missing.py "$1")
    [ -n "$packages" ] || return 0
    if [ "$(id -u)" != 0 ] || ! command -v apt-get >/dev/null 2>&1; then
        say "These system packages are missing: $packages" >&2
        say "Install them as root, then start again:" >&2
        fail "    apt-get update && apt-get install --yes --no-install-recommends $packages"
    fi
    one_at_a_time
    packages=$("$python" -B deploy/missing.py "$1")
    [ -n "$packages" ] || { let_others && return 0; }
    say "Installing system packages: $packages"
    keep_services_stopped
    apt="apt-get --quiet=2 --option DPkg::Lock::Timeout=120 --option Dpkg::Use-Pty=0"
    export DEBIAN_FRONTEND=noninteractive
    # shellcheck disable=SC2086 # several words on purpose
    { $apt update && $apt install --yes --no-install-recommends $packages; } >"$setup_log" 2>&1 </dev/null ||
        { cat "$setup_log" >&2; fail "apt-get could not install: $packages"; }
    let_services_start
    let_others
    packages=$("$python" -B deploy/missing.py "$1")
    [ -z "$packages" ] || fail "Still missing after installing: $packages"
}

# A database server is installed for the tests to start and stop themselves: nothing may start it now, and no
# cluster is made. Only where no such policy exists yet, and only while apt works.
keep_services_stopped() {
    policy=
    case " $packages " in *" postgresql "* | *" redis-server "*) ;; *) return 0 ;; esac
    mkdir -p /etc/postgresql-common
    [ -e /etc/postgresql-common/createcluster.conf ] ||
        echo "create_main_cluster = false" >/etc/postgresql-common/createcluster.conf
    if [ ! -e /usr/sbin/policy-rc.d ]; then
        policy=/usr/sbin/policy-rc.d
        printf '#!/bin/sh\nexit 101\n' >"$policy"
        chmod +x "$policy"
    fi
}

let_services_start() {
    [ -z "$policy" ] || rm -f "$policy"
}

# need_environment LOCK: .venv holds what the lock says. A stamp with the lock's hash makes the next time quick.
need_environment() {
    is_installed "$1" && return 0
    one_at_a_time
    is_installed "$1" && let_others && return 0
    if ! environment_works; then
        say "Making the Python environment"
        # A link leads to another tree's environment, which is not ours to clear.
        [ ! -L .venv ] || rm .venv
        "$python" -m venv --clear .venv ||
            fail "The Python environment could not be made in $PWD/.venv; the message above says why."
    fi
    say "Installing Python packages from $1"
    rm -f .venv/.installed-* # a stop half way must not look finished
    .venv/bin/python -m pip install --quiet --disable-pip-version-check --no-input \
        --require-hashes --only-binary :all: --requirement "$1" </dev/null ||
        fail "The Python packages could not be installed; the message above says why."
    sha256 "$1" >"$(stamp "$1")"
    let_others
}

stamp() { printf '.venv/.installed-%s' "$(basename "$1")"; }

is_installed() {
    [ "$(cat "$(stamp "$1")" 2>/dev/null)" = "$(sha256 "$1")" ] && environment_works
}

# Its last piece is there (making it was not cut off), it names this folder (it was not moved), its Python runs.
environment_works() {
    grep -qsF "$(pwd -P)/.venv/bin/python" .venv/bin/pip && .venv/bin/python -c '' 2>/dev/null
}

# Impatient people start twice: the second set-up waits for the first. The lock is on this file, by descriptor 9.
one_at_a_time() {
    exec 9<deploy/setup.sh
    lock "fcntl.LOCK_EX | fcntl.LOCK_NB" 2>/dev/null || {
        say "Another set-up is at work in this folder; waiting for it."
        lock "fcntl.LOCK_EX"
    }
}

lock() { "$python" -c "import fcntl; fcntl.flock(9, $1)"; }

let_others() { exec 9<&-; }

sha256() {
    "$python" -c 'import hashlib, sys; print(hashlib.sha256(open(sys.argv[1], "rb").read()).hexdigest())' "$1"
}

setup_log=$(mktemp)
trap 'rm -f "$setup_log"' EXIT
trap 'exit 130' INT HUP # or the line above would be passed over
find_python
