//! SQL of the loggers: samples and their imports, devices, and what is remembered of files.

mod devices;
mod drafts;
mod samples;
mod seals;
mod series;

pub use devices::{Sender, device_of, devices, keep_secret};
pub use drafts::{Draft, columns_of, draft, forget, lay, remember};
pub use samples::{deviation_stands, import, imports, known, samples_of, write};
pub use seals::seals_hold;
pub use series::{Bucket, Excursion, excursions, measured_in, series, thinned};
