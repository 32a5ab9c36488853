//! The settings: flags, then the environment, then one file, the earlier before the later. Whatever is not known or
//! cannot be understood stops the start, with the name of the setting and the place where it stood.

mod file;
mod value;

use std::collections::BTreeMap;
use std::ffi::OsString;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};

use crate::database::Source;

pub use value::PublicAddress;

/// The name of the file in the data folder.
pub const FILE: &str = "flitchbook.toml";
/// The file that is read when the data folder has none.
const SYSTEM_FILE: &str = "/etc/flitchbook/flitchbook.toml";
/// What the environment's settings begin with.
const PREFIX: &str = "FLITCHBOOK_";

/// Settings as somebody gave them, not yet understood: one for each flag.
#[derive(Debug, Clone, Default, clap::Args)]
pub struct Given {
    /// Folder that holds the book [default: /var/lib/flitchbook for root, else ~/.local/share/flitchbook]
    #[arg(long, global = true, value_name = "FOLDER", help_heading = "Settings")]
    pub data: Option<String>,

    /// Settings file [default: flitchbook.toml in the data folder, else /etc/flitchbook/flitchbook.toml]
    #[arg(long, global = true, value_name = "FILE", help_heading = "Settings")]
    pub config: Option<String>,

    /// Address of a PostgreSQL that runs elsewhere, instead of a private one in the data folder. Other users of this
    /// machine can read flags: where it holds a password, set `DATABASE_URL` or the file instead
    #[arg(long, global = true, value_name = "ADDRESS", help_heading = "Settings")]
    pub database_url: Option<String>,

    /// Address and port to answer on [default: 127.0.0.1:7180]
    #[arg(long, global = true, value_name = "ADDRESS:PORT", help_heading = "Settings")]
    pub listen: Option<String>,

    /// Address people type and the tags' codes lead to, such as `https://book.example.com`
    #[arg(long, global = true, value_name = "ADDRESS", help_heading = "Settings")]
    pub public: Option<String>,

    /// Believe the X-Forwarded-For, -Proto and -Host that a proxy in front sends [default: false]
    #[arg(long, global = true, value_name = "true|false", num_args = 0..=1, require_equals = true,
          default_missing_value = "true", help_heading = "Settings")]
    pub trust_proxy: Option<String>,

    /// How much is written to the log: error, warn, info, debug, trace [default: info]
    #[arg(long, global = true, value_name = "LEVEL", help_heading = "Settings")]
    pub log: Option<String>,

    /// Days until somebody must sign in again, 1 to 365 [default: 30]
    #[arg(long, global = true, value_name = "DAYS", help_heading = "Settings")]
    pub session_days: Option<String>,
}

/// Settings that hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Settings {
    /// The data folder, absolute.
    pub data: PathBuf,
    pub database: Source,
    pub listen: SocketAddr,
    /// The address that people use, where it is not the one listened on.
    pub public: Option<PublicAddress>,
    pub trust_proxy: bool,
    /// A filter that `tracing_subscriber` accepts.
    pub log: String,
    /// 1 to 365.
    pub session_days: u16,
    /// The file that was read, if any.
    pub file: Option<PathBuf>,
}

/// A setting that cannot be used: one calm sentence, with its place.
#[derive(Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0}")]
pub struct SettingError(String);

impl SettingError {
    fn at(place: &str, problem: impl AsRef<str>) -> Self {
        Self(format!("{place}: {}", problem.as_ref()))
    }
}

/// The settings by name, as the file spells them. Flags use `-` and the environment capitals for the same.
const NAMES: [&str; 7] = ["data", "database_url", "listen", "public", "trust_proxy", "log", "session_days"];

/// A value and the place where it stood.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Placed {
    value: String,
    place: String,
}

/// What one source gave, by the names of [`NAMES`].
type Values = BTreeMap<&'static str, Placed>;

impl Settings {
    /// Settings from the flags, this process's environment, and a file.
    pub fn read(flags: &Given) -> Result<Self, SettingError> {
        Self::gather(flags, std::env::vars_os().collect(), Path::new(SYSTEM_FILE))
    }

    fn gather(
        flags: &Given,
        environment: BTreeMap<OsString, OsString>,
        system_file: &Path,
    ) -> Result<Self, SettingError> {
        let places = Places::of(&environment);
        let (environment, config) = environment_values(environment)?;
        let mut values = flags.values();
        add(&mut values, environment);
        let named = flags.config.clone().or(config);
        let data = values.get("data").map(|placed| placed.value.clone());
        let folder = data.map_or_else(|| places.data_folder(), |data| Ok(PathBuf::from(data)))?;
        let file = match named {
            Some(path) => Some(PathBuf::from(path)),
            None => [folder.join(FILE), system_file.to_owned()].into_iter().find(|file| file.exists()),
        };
        if let Some(file) = &file {
            let from_file = file::read(file)?;
            if let Some(placed) = from_file.get("data").filter(|_| *file == folder.join(FILE)) {
                let problem = "the data folder cannot be set in the file that lies in it.";
                return Err(SettingError::at(&placed.place, problem));
            }
            add(&mut values, from_file);
        }
        Self::understand(&values, &places, file)
    }

    fn understand(values: &Values, places: &Places, file: Option<PathBuf>) -> Result<Self, SettingError> {
        let data = match read(values, "data", value::folder)? {
            Some(folder) => folder,
            None => places.data_folder()?,
        };
        let database = match read(values, "database_url", value::database_address)? {
            Some(address) => Source::Url(address),
            None => Source::Private(data.clone()),
        };
        Ok(Self {
            data,
            database,
            listen: read(values, "listen", value::listen)?.unwrap_or(value::DEFAULT_LISTEN),
            public: read(values, "public", PublicAddress::parse)?,
            trust_proxy: read(values, "trust_proxy", value::yes_or_no)?.unwrap_or(false),
            log: read(values, "log", value::log_filter)?.unwrap_or_else(|| "info".to_owned()),
            session_days: read(values, "session_days", value::session_days)?.unwrap_or(30),
            file,
        })
    }

    /// The same for the demo, which never touches the shop's own book: a folder beside the shop's, with a private
    /// cluster.
    #[must_use]
    pub fn for_demo(mut self) -> Self {
        let mut name = self.data.file_name().unwrap_or_default().to_owned();
        name.push("-demo");
        self.data = self.data.with_file_name(name);
        self.database = Source::Private(self.data.clone());
        self
    }

    /// The address that people use and that stands in the tags' codes.
    pub fn origin(&self) -> PublicAddress {
        self.public.clone().unwrap_or_else(|| PublicAddress::of_listener(self.listen))
    }
}

impl Given {
    fn values(&self) -> Values {
        let flags = [
            ("data", &self.data),
            ("database_url", &self.database_url),
            ("listen", &self.listen),
            ("public", &self.public),
            ("trust_proxy", &self.trust_proxy),
            ("log", &self.log),
            ("session_days", &self.session_days),
        ];
        let placed = |name: &str, value: &String| Placed {
            value: value.clone(),
            place: format!("--{}", name.replace('_', "-")),
        };
        flags.into_iter().filter_map(|(name, value)| Some((name, placed(name, value.as_ref()?)))).collect()
    }
}

/// Where a user's own files go.
struct Places {
    is_root: bool,
    share: Option<PathBuf>,
    home: Option<PathBuf>,
}

impl Places {
    fn of(environment: &BTreeMap<OsString, OsString>) -> Self {
        let path = |name: &str| environment.get(&OsString::from(name)).map(PathBuf::from);
        Self {
            is_root: rustix::process::geteuid().is_root(),
            // The XDG base directory specification: a relative path is to be passed over.
            share: path("XDG_DATA_HOME").filter(|folder| folder.is_absolute()),
            home: path("HOME").filter(|folder| folder.is_absolute()),
        }
    }

    fn data_folder(&self) -> Result<PathBuf, SettingError> {
        if self.is_root {
            return Ok("/var/lib/flitchbook".into());
        }
        let share = self.share.clone().or_else(|| Some(self.home.as_ref()?.join(".local/share")));
        let missing = "no folder for the book: the user has no home folder. Name one with --data.";
        share.map(|share| share.join("flitchbook")).ok_or_else(|| SettingError::at("data", missing))
    }
}

/// The settings in the environment, and the settings file it names. A variable that is set to nothing counts as not
/// set, as service managers write it.
fn environment_values(
    environment: BTreeMap<OsString, OsString>,
) -> Result<(Values, Option<String>), SettingError> {
    let mut values = Values::new();
    let mut config = None;
    for (name, value) in environment {
        let Some(name) = name.to_str().filter(|name| *name == "DATABASE_URL" || name.starts_with(PREFIX))
        else {
            continue;
        };
        let Ok(value) = value.into_string() else {
            return Err(SettingError::at(name, "its value is not readable text."));
        };
        if value.trim().is_empty() {
            continue;
        }
        let spelt = name.strip_prefix(PREFIX).unwrap_or(name).to_lowercase();
        if name == "FLITCHBOOK_CONFIG" {
            config = Some(value);
        } else if let Some(known) =
            known(&spelt).filter(|known| *known != "database_url" || name == "DATABASE_URL")
        {
            values.insert(known, Placed { value, place: name.to_owned() });
        } else {
            let all = NAMES.iter().map(|name| variable(name)).collect::<Vec<_>>().join(", ");
            return Err(SettingError::at(name, format!("there is no such setting. There are {all}.")));
        }
    }
    Ok((values, config))
}

fn variable(name: &str) -> String {
    if name == "database_url" {
        "DATABASE_URL".to_owned()
    } else {
        format!("{PREFIX}{}", name.to_uppercase())
    }
}

fn known(name: &str) -> Option<&'static str> {
    NAMES.into_iter().find(|known| *known == name)
}

/// Adds what is not there yet.
fn add(values: &mut Values, later: Values) {
    for (name, placed) in later {
        values.entry(name).or_insert(placed);
    }
}

fn read<T>(
    values: &Values,
    name: &str,
    understand: impl FnOnce(&str) -> Result<T, String>,
) -> Result<Option<T>, SettingError> {
    let Some(placed) = values.get(name) else { return Ok(None) };
    understand(placed.value.trim()).map(Some).map_err(|problem| SettingError::at(&placed.place, problem))
}

#[cfg(test)]
mod tests;
