//! `sqlx::migrate!` embeds the folder; without this line cargo misses a new file in it.
fn main() {
    println!("cargo:rerun-if-changed=migrations");
    println!("cargo:rerun-if-changed=static");
}
