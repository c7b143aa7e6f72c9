#!/bin/sh
# Installs the office program that reads our workbooks back in tests/books.rs.
set -eu
command -v soffice >/dev/null && exit 0
apt-get update -q
apt-get install -qy --no-install-recommends libreoffice-calc-nogui
