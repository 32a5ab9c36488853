//! SQL of the shop's people, their secrets, their sessions and their devices.

mod inspector;
mod person;
mod secret;
mod session;
mod shop;
mod throttle;

pub use inspector::{Reader, reader};
pub use person::{Listed, one, people, standing};
pub use secret::{
    Known, forget_secrets, give_everyone, keep_password, keep_pin, known, new_password, password_of,
};
pub use session::{
    Here, OnDevice, begin_session, clear_old, device_seen, end_session, end_sessions, forget_on_device,
    keep_theme, on_device, pin_fits, remember_on_device, try_pin,
};
pub use shop::has_money;
pub use throttle::{Claim, came_right, claim, forget_name};
