# What the scripts of this folder and of tests/ need from the machine, installed where it is missing.
# Sourced, from the repository's top folder.

as_root() {
    if [ "$(id -u)" = 0 ]; then
        "$@"
    elif command -v sudo >/dev/null; then
        sudo "$@"
    else
        echo "This needs an administrator, and there is no sudo: $*" >&2
        return 1
    fi
}

# need_program PROGRAM PACKAGE: a program, from Debian's package of that name.
need_program() {
    command -v "$1" >/dev/null && return
    if ! command -v apt-get >/dev/null; then
        echo "$1 is missing, and there is no apt-get to install it with: install it by hand." >&2
        return 1
    fi
    install_package "$2"
}

install_package() {
    echo "Installing $1 …"
    as_root apt-get update -qq
    as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$1" >/dev/null
}

need_wasm_target() {
    local target=wasm32-unknown-unknown
    compgen -G "$(rustc --print sysroot)/lib/rustlib/$target/lib/libstd-*.rlib" >/dev/null && return
    if ! rustup target add "$target"; then
        echo "Rust's library for $target is missing, and rustup could not fetch it." >&2
        return 1
    fi
}

# The packages that drive a browser, exactly as locked. Their install scripts aren't needed, so none is run.
need_browser_driver() {
    need_program chromium chromium
    local installed=tests/node_modules/.package-lock.json
    [ "$installed" -nt tests/package-lock.json ] && return
    npm ci --prefix tests --ignore-scripts --no-audit --no-fund
    touch "$installed"
}
