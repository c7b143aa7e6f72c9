#!/bin/sh
# Installs what building on Debian needs and does not find: cmake, make, a C++
# compiler and libclang. Does nothing where all of it is there. With `tests`
# also what the tests need: a browser and its driver for the pages, an office
# program for the workbooks, and a program that tells what a run asks of the
# system.
set -eu

if [ "${1:-}" = tests ]; then
    sh "$(dirname "$0")/tests/browser/install.sh"
    sh "$(dirname "$0")/tests/offline/install.sh"
    sh "$(dirname "$0")/tests/office/install.sh"
fi

missing=""
command -v cmake >/dev/null 2>&1 || missing="$missing cmake"
command -v make >/dev/null 2>&1 || missing="$missing make"
command -v c++ >/dev/null 2>&1 || missing="$missing g++"
if [ -z "${LIBCLANG_PATH:-}" ]; then
    ls /usr/lib/llvm*/lib/libclang*.so* /usr/lib/*/libclang*.so* 2>/dev/null |
        grep -q 'libclang[-.0-9]*so' || missing="$missing libclang-dev"
fi
[ -n "$missing" ] || exit 0

as_root=""
[ "$(id -u)" -eq 0 ] || as_root="sudo"
echo "installing$missing" >&2
$as_root apt-get update
# The names are to be split.
# shellcheck disable=SC2086
$as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y --no-install-recommends $missing
