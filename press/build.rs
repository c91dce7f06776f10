//! Nothing to do: it is here so that its dependency is built, see Cargo.toml.

fn main() {
    println!("cargo:rerun-if-changed=build.rs");
}
