# Shared by desktop/start and desktop/check; sourced, with `root` set to the project folder.
# shellcheck shell=sh
#
# set_up brings what is missing: system libraries (by apt), a virtual environment in .venv, and
# the pinned libraries in it. Everything it says goes to standard error, so that a program's
# standard output stays its own. A stamp in .venv makes the next run start at once.

# shellcheck disable=SC2154  # root is set by the script that sources this file
venv="$root/.venv"

# Library file, then the Debian or Ubuntu package that brings it. Names differ between releases
# (|: the first that exists), so what is missing is found by loading the file, never by name.
# ?: does without where no release offers it.
sheet_libraries='
libfontconfig.so.1       libfontconfig1
libgobject-2.0.so.0      libglib2.0-0t64|libglib2.0-0
libharfbuzz.so.0         libharfbuzz0b
libharfbuzz-subset.so.0  ?libharfbuzz-subset0
libpango-1.0.so.0        libpango-1.0-0
libpangoft2-1.0.so.0     libpangoft2-1.0-0
'
# What Qt's core, widgets, PDF view, print support and its X11 and Wayland platforms load.
window_libraries='
libEGL.so.1              libegl1
libGL.so.1               libgl1
libX11.so.6              libx11-6
libX11-xcb.so.1          libx11-xcb1
libcups.so.2             libcups2t64|libcups2
libdbus-1.so.3           libdbus-1-3
libfontconfig.so.1       libfontconfig1
libfreetype.so.6         libfreetype6
libglib-2.0.so.0         libglib2.0-0t64|libglib2.0-0
libgssapi_krb5.so.2      libgssapi-krb5-2
libgthread-2.0.so.0      libglib2.0-0t64|libglib2.0-0
libwayland-client.so.0   libwayland-client0
libwayland-cursor.so.0   libwayland-cursor0
libwayland-egl.so.1      libwayland-egl1
libxcb-cursor.so.0       libxcb-cursor0
libxcb-glx.so.0          libxcb-glx0
libxcb-icccm.so.4        libxcb-icccm4
libxcb-image.so.0        libxcb-image0
libxcb-keysyms.so.1      libxcb-keysyms1
libxcb-randr.so.0        libxcb-randr0
libxcb-render.so.0       libxcb-render0
libxcb-render-util.so.0  libxcb-render-util0
libxcb-shape.so.0        libxcb-shape0
libxcb-shm.so.0          libxcb-shm0
libxcb-sync.so.1         libxcb-sync1
libxcb-util.so.1         libxcb-util1
libxcb-xfixes.so.0       libxcb-xfixes0
libxcb-xkb.so.1          libxcb-xkb1
libxkbcommon.so.0        libxkbcommon0
libxkbcommon-x11.so.0    libxkbcommon-x11-0
libz.so.1                zlib1g
libzstd.so.1             libzstd1
'

say() {
    printf '%s\n' "$*" >&2
}

# Give up on the set-up. Status 3: the program uses 1 and 2 for plans and input.
give_up() {
    say "$@"
    exit 3
}

is_linux() {
    [ "$(uname -s)" = Linux ]
}

# Status 0 if $1 is a Python that can run the program.
new_enough() {
    "$1" -I -S -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null
}

find_python() {
    for python in python3 python3.14 python3.13 python3.12 python3.11; do
        if new_enough "$python"; then
            return
        fi
    done
    found=$(python3 --version 2>/dev/null) || found="no Python 3"
    for python in python3.13 python3.12 python3.11; do
        if apt-cache show "$python" >/dev/null 2>&1; then
            give_up "Kerfdocket needs Python 3.11 or newer; here is $found." \
                "Install one with:  sudo apt-get install $python $python-venv"
        fi
    done
    give_up "Kerfdocket needs Python 3.11 or newer; here is $found." \
        "Install one (python.org tells how), then start again."
}

# Print the lines of the list $1 whose library can't be loaded.
missing_libraries() {
    "$python" -I -S -c '
import ctypes, sys
for line in filter(None, sys.argv[1].split("\n")):
    try:
        ctypes.CDLL(line.split()[0])
    except OSError:
        print(line)
' "$1"
}

# Set `packages` to one name for each line a|b of .venv/wanted: the first that apt knows, else the
# last (newer releases let the old name stand for the new one). A line ?a counts only if apt knows it.
# Status 1 if apt knows none of a line.
choose_packages() {
    # shellcheck disable=SC2046  # one word a package
    known=" $(apt-cache show --no-all-versions $(tr '|?' '  ' <"$venv/wanted") 2>/dev/null |
        sed -n 's/^Package: //p' | tr '\n' ' ')"
    packages=
    status=0
    while read -r names; do
        is_known=no
        for name in $(printf '%s' "$names" | tr '|?' '  '); do
            case $known in
            *" $name "*)
                is_known=yes
                break
                ;;
            esac
        done
        if [ "$is_known" = no ]; then
            status=1
            case $names in "?"*) continue ;; esac
        fi
        case " $packages " in
        *" $name "*) ;;
        *) packages="$packages${packages:+ }$name" ;;
        esac
    done <"$venv/wanted"
    return "$status"
}

# Run apt-get as root (words of an argument apart); its talk goes to a file, shown when it fails.
apt_as_root() {
    # shellcheck disable=SC2048,SC2086  # as_root is empty or one word; packages is many
    $as_root env DEBIAN_FRONTEND=noninteractive apt-get -qq -y \
        -o DPkg::Lock::Timeout=300 -o Dpkg::Use-Pty=0 $* </dev/null >>"$venv/apt.log" 2>&1 9>&-
}

install_packages() {
    lists=good
    choose_packages || lists=old
    by_hand="  sudo apt-get update && sudo apt-get install --no-install-recommends $packages"
    as_root=
    if [ "$(id -u)" -ne 0 ]; then
        grep -qv '^?' "$venv/wanted" || return 0
        as_root=sudo
        # Without a terminal sudo can't ask for a password.
        if ! command -v sudo >/dev/null || { [ ! -t 0 ] && ! sudo -n true 2>/dev/null; }; then
            give_up "Kerfdocket needs system packages that only an administrator can install. Run:
$by_hand
then start again."
        fi
    fi
    if [ -n "$as_root" ]; then
        say "System packages are missing; to install them with apt-get, sudo may ask for your password."
        sudo -v || give_up "No rights to install them. Let an administrator run:
$by_hand
then start again."
    fi
    : >"$venv/apt.log"
    for try in first second; do
        if [ "$lists" = old ]; then
            say "Reading the package lists (apt-get update) ..."
            apt_as_root update || say "(that failed; going on with the lists that are here)"
            choose_packages || : # apt-get will say which one it doesn't know
        fi
        [ -n "$packages" ] || return 0
        say "Installing missing system packages (apt-get install): $packages"
        apt_as_root install --no-install-recommends "$packages" && return
        [ "$try $lists" = "first good" ] || break
        lists=old
    done
    cat "$venv/apt.log" >&2
    give_up "apt-get failed (its words are above). Put that right and start again, or run by hand:
$by_hand"
}

# Bring what level $1 needs of the system, and what Python needs to make an environment.
set_up_system() {
    is_linux || return 0 # elsewhere README.md says what to install
    case $1 in
    sheet) libraries=$sheet_libraries ;;
    *) libraries=$sheet_libraries$window_libraries ;;
    esac
    missing=$(missing_libraries "$libraries") || give_up "$python can't load libraries; see above."
    printf '%s\n' "$missing" | awk 'NF { print $2 }' >"$venv/wanted"
    if [ "$1" = check ] && ! command -v git >/dev/null; then
        echo git >>"$venv/wanted" # a test compares the wheel with what git lists
    fi
    if ! has_environment && ! "$python" -I -c 'import ensurepip, venv' 2>/dev/null; then
        echo "$python-venv" >>"$venv/wanted"
    fi
    if [ -s "$venv/wanted" ]; then
        command -v apt-get >/dev/null || give_up "These libraries are missing:
$(printf '%s\n' "$missing" | awk 'NF { print "  " $1 }')
Install them with this system's package manager, then start again."
        install_packages
        missing=$(missing_libraries "$libraries" | grep -v '?') || :
        [ -z "$missing" ] || give_up "Still missing after apt-get:
$(printf '%s\n' "$missing" | awk 'NF { print "  " $1 }')"
    fi
    rm -f "$venv/wanted" "$venv/apt.log"
}

# Status 0 if .venv holds a working environment that no broken-off set-up has touched.
has_environment() {
    [ ! -e "$venv/unfinished" ] && [ -f "$venv/pyvenv.cfg" ] && new_enough "$venv/bin/python" &&
        "$venv/bin/python" -I -c 'import pip' 2>/dev/null
}

# Bring the pinned libraries of level $1.
set_up_libraries() {
    if ! has_environment; then
        say "Making a Python environment in .venv ..."
        find "$venv/." -mindepth 1 -maxdepth 1 ! -name lock -exec rm -rf {} +
        : >"$venv/unfinished"
        "$python" -I -m venv "$venv" >&2 || give_up "$python could not make the environment; see above."
    fi
    : >"$venv/unfinished"
    what=.
    cost="110 to 250 MB to fetch, 370 to 700 MB on disk"
    if [ "$1" = check ]; then
        what=".[check]"
        cost="250 to 400 MB to fetch, about 1 GB on disk"
    fi
    if [ -e "$venv/set-up-$1" ]; then
        say "Bringing the libraries up to date ..."
    else
        say "Installing the program's libraries ($cost, once) ..."
    fi
    # The build backend comes first and pinned: pip would fetch the newest one for itself.
    if ! pip_install hatchling || ! pip_install --no-build-isolation -e "$what"; then
        rm -f "$venv/unfinished" # pip leaves things whole when it gives up by itself
        give_up "The libraries could not be installed (pip's words are above)." \
            "Is there a network? Then start again."
    fi
    rm -f "$venv/unfinished"
}

pip_install() (
    # From the project folder, so that the path of the project may hold any character.
    cd "$root" && PIP_USER=0 "$venv/bin/python" -I -m pip install -qq --disable-pip-version-check \
        --no-input -c desktop/constraints.txt "$@" >&2
)

# Print what the set-up depends on; nothing if there is no working environment.
current_key() {
    [ -x "$venv/bin/python" ] || return 0
    python_is=$("$venv/bin/python" -I -S -c 'import sys; print(sys.version_info[:2])' 2>/dev/null) ||
        return 0
    printf '%s %s %s\n' "$python_is" \
        "$(cd "$root" && cat pyproject.toml desktop/constraints.txt desktop/setup.sh | cksum)" "$root"
}

# Status 0 if the set-up of one of the levels named was finished for the present state.
is_stamped() {
    [ ! -e "$venv/unfinished" ] && [ -n "$key" ] || return 1
    for stamp in "$@"; do
        if [ -f "$venv/set-up-$stamp" ] && [ "$(cat "$venv/set-up-$stamp")" = "$key" ]; then
            return 0
        fi
    done
    return 1
}

# Status 0 if level $1, or one that includes it, is set up.
is_set_up() {
    key=$(current_key)
    case $1 in
    sheet) is_stamped sheet window check ;;
    window) is_stamped window check ;;
    check) is_stamped check ;;
    esac
}

# Bring everything that is missing for one level, $1:
# sheet (everything but the window), window, or check (both, and the development tools).
set_up() {
    is_set_up "$1" && return
    if ! mkdir -p "$venv" 2>/dev/null || [ ! -w "$venv" ]; then
        give_up "Kerfdocket sets itself up in $venv, but that folder can't be written."
    fi
    if command -v flock >/dev/null; then # not on macOS: don't start two at once there the first time
        exec 9>"$venv/lock"
        if ! flock -n 9; then
            say "Another start is setting Kerfdocket up; waiting for it ..."
            flock 9
        fi
        if is_set_up "$1"; then
            exec 9>&-
            return
        fi
    fi
    trap 'exit 130' INT # pip may survive it: go no further
    find_python
    set_up_system "$1"
    # The libraries of sheet and window are the same.
    if [ "$1" = check ] || ! is_stamped sheet window check; then
        set_up_libraries "$1"
    fi
    key=$(current_key)
    printf '%s\n' "$key" >"$venv/stamp.new"
    mv "$venv/stamp.new" "$venv/set-up-$1"
    trap - INT
    exec 9>&-
}
