# shellcheck shell=bash
# What both commands of the README share; sourced by them, from the project's root.
#
#   prepare LOCK    makes .venv hold what LOCK names, and the project itself; at once where it already does
#
# Needs git, Python 3.11 or later with venv, and, where Qt's system libraries are missing, apt with root or sudo.

# Debian's packages with the libraries that the wheel's offscreen, xcb and wayland platforms link to and do not
# carry; libraries that these packages depend on are left out.
qt_packages=(
  libdbus-1-3 libegl1 libfontconfig1 libgl1 libglib2.0-0 libwayland-cursor0 libwayland-egl1
  libxcb-cursor0 libxcb-icccm4 libxcb-keysyms1 libxcb-shape0 libxkbcommon-x11-0
)

say() { printf '%s\n' "$@" >&2; }
stop() { say "$@"; exit 1; }

find_python() {
  local name
  for name in ${PYTHON:+"$PYTHON"} python3.11 python3 python3.12 python3.13 python3.14; do
    if "$name" -c 'import sys, venv, ensurepip; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
      printf '%s\n' "$name"
      return
    fi
  done
  stop "Python 3.11 or later with venv is needed. On Debian: sudo apt-get install python3 python3-venv"
}

# Libraries that Qt's wheel links to and the loader does not find, one a line.
missing_libraries() {
  [ "$(uname)" = Linux ] || return 0
  local qt
  qt=$(.venv/bin/python -c 'import importlib.util as u; print(*u.find_spec("PySide6").submodule_search_locations)')
  ldd "$qt"/Qt{Core,Gui,Widgets}.abi3.so "$qt"/Qt/plugins/platforms/libq{offscreen,xcb,wayland}.so \
    | awk '/=> not found/ && $1 !~ /^libQt6/ {print $1}' | sort -u
}

install_libraries() {
  local line="apt-get install -y --no-install-recommends ${qt_packages[*]}" root=()
  if [ "$(id -u)" != 0 ]; then
    line="sudo $line"
    root=(sudo -n)
  fi
  command -v apt-get >/dev/null \
    || stop "Qt lacks these system libraries, and there is no apt here to install them:" "$1"
  "${root[@]}" true 2>/dev/null \
    || stop "Qt lacks system libraries. Run this line, then the command again:" "  $line"
  say "Installing Qt's system libraries: ${qt_packages[*]}"
  # A package source that cannot be refreshed matters only if the packages are then not found.
  "${root[@]}" apt-get update -qq >/dev/null 2>&1 || true
  "${root[@]}" env DEBIAN_FRONTEND=noninteractive \
    apt-get install -qq -y --no-install-recommends "${qt_packages[@]}" >/dev/null \
    || stop "apt could not install Qt's system libraries. Run this line, then the command again:" "  $line"
}

prepare() {
  local lock=$1 stamp digest python missing
  stamp=.venv/stamp-$(dirname "$lock")
  digest=$(cat "$lock" pyproject.toml app/prepare.sh | cksum)
  [ "$(cat "$stamp" 2>/dev/null)" != "$digest" ] || return 0
  python=$(find_python)
  if ! .venv/bin/python -c '' 2>/dev/null; then
    say "Making .venv with $python"
    "$python" -m venv .venv
  fi
  say "Installing what $lock names"
  .venv/bin/python -m pip install --quiet --disable-pip-version-check --require-hashes -r "$lock" >&2
  .venv/bin/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e . >&2
  missing=$(missing_libraries)
  if [ -n "$missing" ]; then
    install_libraries "$missing"
    missing=$(missing_libraries)
    [ -z "$missing" ] || stop "Qt still lacks these system libraries:" "$missing"
  fi
  printf '%s\n' "$digest" >"$stamp"
}
