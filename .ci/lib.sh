# Shared by the scripts beside it: find Python, ask apt for what is missing, make the environment.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."

say() { printf '\033[1m%s\033[0m\n' "$*" >&2; }
fail() { printf '%s\n' "$*" >&2; exit 2; }

# Packages by Debian's name; says what it is about to do, and uses sudo when not root.
apt_install() {
  command -v apt-get >/dev/null || fail "Please install these system packages, then run this again: $*"
  local sudo=()
  if [ "$(id -u)" -ne 0 ]; then
    command -v sudo >/dev/null || fail "As root, run: apt-get install $*  — then run this again."
    sudo=(sudo)
  fi
  say "Getting system packages with ${sudo[*]:+sudo }apt-get: $*"
  "${sudo[@]}" apt-get update -qq
  "${sudo[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$@"
}

find_python() {
  local name
  for name in python3 python3.13 python3.12 python3.11 python3.14; do
    if "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
      command -v "$name"
      return 0
    fi
  done
  return 1
}

# make_environment PLACE WHAT...: a virtual environment with the project in it.
make_environment() {
  local place=$1 python version
  shift
  python=$(find_python) || { apt_install python3 python3-venv; python=$(find_python); } \
    || fail "Python 3.11 or newer is needed."
  if ! "$python" -c 'import ensurepip' 2>/dev/null; then
    version=$("$python" -c 'import sys; print("%d.%d" % sys.version_info[:2])')
    apt_install "python$version-venv"
  fi
  # An environment that was stopped half-made, or made by another tool, may lack pip.
  "$place/bin/python" -m pip --version >/dev/null 2>&1 || "$python" -m venv "$place"
  say "Putting Blankwright and the libraries it uses into $place (some hundred MB the first time)"
  "$place/bin/python" -m pip install --quiet --disable-pip-version-check "$@"
}

QT_PROBE='from PySide6.QtWidgets import QApplication; QApplication([])'

# qt_libraries PLACE: the system libraries that Qt needs even without a screen.
qt_libraries() {
  QT_QPA_PLATFORM=offscreen "$1/bin/python" -c "$QT_PROBE" 2>/dev/null && return 0
  local glib=libglib2.0-0
  apt-cache show libglib2.0-0t64 >/dev/null 2>&1 && glib=libglib2.0-0t64
  apt_install libgl1 libegl1 libxkbcommon0 libfontconfig1 "$glib" libdbus-1-3 fonts-dejavu-core
  QT_QPA_PLATFORM=offscreen "$1/bin/python" -c "$QT_PROBE"
}
