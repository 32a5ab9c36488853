//! Pages and files of packets.

pub mod files;
pub mod index;
pub mod lines;
pub mod panel;
pub mod show;
