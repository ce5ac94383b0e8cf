//! Rebuilds the program when a migration is added: the embedded folders are not sources that cargo watches.

fn main() {
    println!("cargo:rerun-if-changed=../../migrations");
}
