#!/usr/bin/env bash
# Builds the engine of the lesson file: target/wasm32-unknown-unknown/web/kneedamp_engine.wasm, where `kneedamp lesson`
# looks for it. Where the compiler has the target, this is one plain cargo build. Elsewhere Debian's compiler for the web
# is unpacked, not installed, and builds the standard library as well; it links with the rust-lld of the compiler here.
set -euo pipefail
cd "$(dirname "$0")/../.."
build=(cargo build --package kneedamp-web --profile web --target wasm32-unknown-unknown)

if [ -d "$(rustc --print target-libdir --target wasm32-unknown-unknown)" ]; then
    exec "${build[@]}"
fi

target=${CARGO_TARGET_DIR:-$PWD/target}
web=$target/rustc-web
linker=$(rustc --print sysroot)/lib/rustlib/$(rustc -vV | sed -n 's/^host: //p')/bin/rust-lld
if [ ! -x "$web/usr/bin/rustc" ]; then
    mkdir -p "$web"
    apt-get update -qq
    # the compiler, what it is linked with, and the sources of the standard library, all of one version
    version=$(apt-cache show rustc-web | sed -n 's/^Version: //p' | head -1)
    library=$(apt-cache depends "libstd-rust-web-dev=$version" | sed -n 's/^ *Depends: \(libstd-rust-web-[0-9].*\)/\1/p')
    llvm=$(apt-cache depends "$library=$version" | sed -n 's/^ *Depends: \(libllvm.*\)/\1/p')
    (cd "$web" && apt-get download -qq -o APT::Sandbox::User=root \
        "rustc-web=$version" "libstd-rust-web-dev=$version" "$library=$version" "rust-web-src=$version" "$llvm" \
        && for package in *.deb; do dpkg -x "$package" .; done && rm ./*.deb)
fi
# the standard library is built from its sources, which a released compiler lets only itself do
export RUSTC_BOOTSTRAP=1 RUSTC="$web/usr/bin/rustc" LD_LIBRARY_PATH="$web/usr/lib/x86_64-linux-gnu"
export CARGO_TARGET_WASM32_UNKNOWN_UNKNOWN_LINKER="$linker"
exec "${build[@]}" -Zbuild-std=std,panic_abort
