#!/usr/bin/env bash
# The installed program and library: a program of one's own builds against them by pkg-config
# (shared and static, C and C++) and by CMake's find_package; the shared library shows
# pappus_ names only; the Debian package names run-time packages only, and the program
# unpacked from it briefs the installed demo.
set -euo pipefail
build=$(cd "$(dirname "$1")" && pwd) source=$(cd "$2" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
prefix=$work/prefix

cmake --install "$build" --prefix "$prefix" >/dev/null
library=$(dirname "$(find "$prefix" -name libpappus.so)")
export PKG_CONFIG_PATH=$library/pkgconfig
stray=$(nm -D --defined-only "$library/libpappus.so" | awk '{print $3}' | grep -v '^pappus_' || true)
[ -z "$stray" ] || { echo "the shared library shows $stray"; exit 1; }
readelf -d "$library/libpappus.so" | grep -q 'SONAME.*libpappus\.so\.[0-9]' || exit 1

cd "$work"
demo=$prefix/share/pappus/examples
version=$(pkg-config --modversion pappus)
[ "$("$prefix/bin/pappus" --version | head -1)" = "pappus $version" ] || exit 1
cc -Wall -Wextra -Werror "$source/examples/land.c" $(pkg-config --cflags --libs pappus) -o land
cc "$source/examples/land.c" $(pkg-config --cflags pappus) "$library/libpappus.a" \
    $(pkg-config --libs $(pkg-config --print-requires-private pappus)) \
    -lgeos_c -ludunits2 -laec -fopenmp -lm -o land_static
c++ -std=c++17 -Wall -Werror -x c++ "$source/examples/land.c" \
    $(pkg-config --cflags --libs pappus) -o land_cxx
mkdir package
cat >package/CMakeLists.txt <<END
cmake_minimum_required(VERSION 3.25)
project(own LANGUAGES C)
find_package(pappus $version REQUIRED)
add_executable(land $source/examples/land.c)
target_link_libraries(land PRIVATE pappus::pappus)
END
cmake -S package -B package/build -DCMAKE_PREFIX_PATH="$prefix" >/dev/null
cmake --build package/build >/dev/null

export LD_LIBRARY_PATH=$library
./land "$demo/go_day.json" "8 mph" "30 mph" >answer
cat answer
[ "$(grep -c 'inside the field' answer)" -eq 3 ]
head -1 answer | grep -q '^as planned go,'
tail -1 answer | grep -q '^30 mph *no-go,'
for program in ./land_static ./land_cxx package/build/land; do
    $program "$demo/go_day.json" "8 mph" "30 mph" | cmp - answer
done
unset LD_LIBRARY_PATH

(cd "$build" && cpack -G DEB -B "$work/deb" >/dev/null 2>&1)
deb=$(find "$work/deb" -maxdepth 1 -name '*.deb')
depends=$(dpkg-deb -f "$deb" Depends)
echo "$depends"
for package in libgsl libgeos-c libgdal proj-data libc6; do
    grep -q "$package" <<<"$depends" || { echo "the package does not need $package"; exit 1; }
done
! grep -qE -- '-dev|check' <<<"$depends" || { echo "the package needs what only a build needs"; exit 1; }
dpkg-deb -x "$deb" root
root/usr/bin/pappus brief root/usr/share/pappus/examples/go_day.json -n 2000 -o day >/dev/null
[ -s day/report.html ]
