#!/bin/sh
# Installs the office program that tests/books opens workbooks in.
set -eu
command -v soffice >/dev/null && exit 0
as_root=""
[ "$(id -u)" -eq 0 ] || as_root="sudo"
$as_root apt-get update -qq
$as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends \
    libreoffice-calc-nogui
