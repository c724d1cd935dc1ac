# SPDX-License-Identifier: GPL-3.0-or-later
# Sourced by demo.sh and tests/run.sh: Debian packages that must be there, and the build.

# need PACKAGE...: install what is missing where that is allowed; else print the line to run.
need() {
    missing=
    for package; do
        dpkg-query -W -f '${Status}\n' "$package" 2>/dev/null | grep -q 'ok installed' ||
            missing="$missing $package"
    done
    [ -z "$missing" ] && return 0
    line="apt-get update && apt-get install -y --no-install-recommends$missing"
    if [ "$(id -u)" = 0 ]; then
        as_root=
    elif command -v sudo > /dev/null && sudo -n true 2> /dev/null; then
        as_root="sudo -n"
    else
        echo "Missing packages. As root, run:" >&2
        echo "    $line" >&2
        exit 1
    fi
    echo "Installing:$missing" >&2
    $as_root apt-get update -qq > /dev/null &&
        DEBIAN_FRONTEND=noninteractive $as_root apt-get install -y -qq \
            --no-install-recommends $missing > /dev/null < /dev/null || {
        echo "Could not install. As root, run:" >&2
        echo "    $line" >&2
        exit 1
    }
}

# What the library and the tools are built with and stand on.
build_packages="gcc g++ cmake ninja-build pkg-config libfftw3-dev libpopt-dev zlib1g-dev libzstd-dev \
    libsndfile1-dev libcairo2-dev libpango1.0-dev libchafa-dev"

# build FOLDER [CMAKE-OPTION...]: configure and build, quietly unless it fails.
build() {
    folder=$1
    shift
    cmake -S "$top" -B "$top/$folder" -G Ninja "$@" > "$top/$folder.log" 2>&1 &&
        cmake --build "$top/$folder" >> "$top/$folder.log" 2>&1 || {
        tail -n 40 "$top/$folder.log" >&2
        echo "The build failed; the whole of it is in $folder.log" >&2
        exit 1
    }
}
