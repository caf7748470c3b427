# The installed program gives the built one's answer, and takes its metals from where they were
# installed: spoilt there, it must fail. install.sh BUILD DESCRIPTION
set -eu
to=$1/installed
rm -rf "$to"
cmake --install "$1" --prefix "$to" >"$1/install.log"

"$1/threepass" pass --json "$2" >"$1/built.json"
"$to/bin/threepass" pass --json "$2" >"$to/installed.json"
cmp "$1/built.json" "$to/installed.json"

echo 'no metals' >"$to/share/threepass/assets/metals.json"
if "$to/bin/threepass" pass "$2" 2>"$to/spoilt.log"; then
    echo 'install.sh: the installed program does not read the installed metals' >&2
    exit 1
fi
grep -F metals.json "$to/spoilt.log"
if "$to/bin/threepass" check "$to/share/threepass/scenarios" >"$to/spoilt.log"; then
    echo 'install.sh: the installed program does not check by the installed metals' >&2
    exit 1
fi
grep -F share/threepass/assets "$to/spoilt.log" | head -n 1
test -d "$to/share/threepass/scenarios"
