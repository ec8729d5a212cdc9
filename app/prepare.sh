# What both commands of the README share; sourced, not run. Works from the project's root.
#
#   prepare LOCK    makes .venv hold exactly what LOCK names, and the project itself; quick when it already does
#
# Needs git, Python 3.11 or later with venv, and for Qt's system libraries apt with root or sudo.

say() { printf '%s\n' "$*" >&2; }
stop() { say "$@"; exit 1; }

# Debian's names for the libraries that the wheels of Qt link to and do not carry.
qt_packages=(
  libdbus-1-3 libegl1 libfontconfig1 libgl1 libglib2.0-0 libxcb-cursor0 libxcb-icccm4 libxcb-image0
  libxcb-keysyms1 libxcb-randr0 libxcb-render-util0 libxcb-shape0 libxcb-xkb1 libxkbcommon-x11-0
)

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

# The libraries that Qt's plugins link to and the loader does not find.
missing_libraries() {
  local qt
  qt=$(.venv/bin/python -c 'import importlib.util as u; print(u.find_spec("PySide6").submodule_search_locations[0])')
  ldd "$qt"/Qt{Core,Gui,Widgets}.abi3.so "$qt"/Qt/plugins/platforms/libq{offscreen,xcb}.so 2>/dev/null \
    | awk '/=> not found/ {print $1}' | sort -u
}

install_libraries() {
  local line="apt-get install -y --no-install-recommends ${qt_packages[*]}" sudo=()
  if [ "$(id -u)" != 0 ]; then
    line="sudo $line"; sudo=(sudo -n)
  fi
  command -v apt-get >/dev/null \
    || stop "Qt needs these system libraries, which are missing here:" $(missing_libraries)
  [ "$(id -u)" = 0 ] || sudo -n true 2>/dev/null \
    || stop "Qt needs system libraries that are missing here. Run this line, then the command again:" $'\n'"  $line"
  say "Installing Qt's system libraries: ${qt_packages[*]}"
  { "${sudo[@]}" apt-get update -qq && "${sudo[@]}" env DEBIAN_FRONTEND=noninteractive ${line#sudo } -qq >/dev/null; } >&2 \
    || stop "apt could not install Qt's system libraries. Run this line, then the command again:" $'\n'"  $line"
}

prepare() {
  local lock=$1 stamp digest python
  stamp=.venv/stamp-${lock%%/*}
  digest=$(cat "$lock" pyproject.toml app/prepare.sh | sha256sum)
  [ "$(cat "$stamp" 2>/dev/null)" != "$digest" ] || return 0
  python=$(find_python)
  [ -x .venv/bin/python ] || { say "Making .venv with $python"; "$python" -m venv .venv; }
  say "Installing what $lock names"
  .venv/bin/python -m pip install --quiet --disable-pip-version-check --require-hashes -r "$lock" >&2
  .venv/bin/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation -e . >&2
  if [ -n "$(missing_libraries)" ]; then
    install_libraries
    [ -z "$(missing_libraries)" ] || stop "Qt still lacks these system libraries:" $(missing_libraries)
  fi
  printf '%s\n' "$digest" >"$stamp"
}
