#!/bin/sh
# Installs what tests/offline.rs watches the program with.
set -eu
command -v strace >/dev/null && exit 0
as_root=""
[ "$(id -u)" -eq 0 ] || as_root="sudo"
$as_root apt-get update -qq
$as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends strace
