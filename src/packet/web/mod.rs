//! Pages and files of packets.

mod draw;
pub mod files;
pub mod index;
pub mod panel;
pub mod show;
