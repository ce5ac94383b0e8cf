//! The program's part of the environment: the variables that its settings name, and files that secrets are read from.
//!
//! A variable that no setting names is refused: a misspelt one would leave its setting unchanged without notice.
//! Settings whose values `--help` does not show are secrets; each may also come from a file, which a variable with the
//! suffix `_FILE` names, as container platforms provide them.

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsString;
use std::path::PathBuf;

use clap::Command;

/// Prefix of the program's variables.
const OURS: &str = "BAYWRIGHT_";

/// Prefix of variables that the project's own tests use; the program ignores them.
const OF_TESTS: &str = "BAYWRIGHT_TEST_";

/// Suffix of a variable that names the file of a secret.
const FILE: &str = "_FILE";

/// Fault of the environment, with how to correct it.
#[derive(Debug, thiserror::Error)]
pub enum BadEnvironment {
    /// No setting has that variable.
    #[error("the environment variable {name} is not a setting of this program; {}", hint(.nearest.as_deref()))]
    Unknown {
        /// The variable.
        name: String,
        /// The most similar variable of a setting, if any is similar.
        nearest: Option<String>,
    },
    /// The same secret is given twice.
    #[error("{name} and {name}{FILE} are both set; leave one of them out")]
    Twice {
        /// The secret's own variable.
        name: String,
    },
    /// The file of a secret can't be read.
    #[error("{name}{FILE} names the file {}, which can't be read: {why}", .file.display())]
    Unreadable {
        /// The secret's own variable.
        name: String,
        /// The file.
        file: PathBuf,
        /// Error of the system.
        why: std::io::Error,
    },
}

fn hint(nearest: Option<&str>) -> String {
    nearest.map_or_else(
        || "leave it out, `baywright help serve` lists all settings".to_owned(),
        |name| format!("did you mean {name}? `baywright help serve` lists all settings"),
    )
}

/// Whether a variable does not belong to the program although it has its prefix: those of its tests, and those that
/// Kubernetes gives every container for a service named `baywright`.
fn is_of_others(name: &str) -> bool {
    name.starts_with(OF_TESTS)
        || name.starts_with("BAYWRIGHT_SERVICE_")
        || name == "BAYWRIGHT_PORT"
        || name.starts_with("BAYWRIGHT_PORT_")
}

/// The program's part of the environment.
#[derive(Debug, Clone, Default)]
pub struct Environment(BTreeMap<String, OsString>);

impl Environment {
    /// The environment of this process.
    pub fn own() -> Self {
        std::env::vars_os().map(|(name, value)| (name.to_string_lossy().into_owned(), value)).collect()
    }

    /// Lists the variables that no setting of the command or its subcommands names.
    pub fn unknown(&self, command: &Command) -> Vec<BadEnvironment> {
        let known = names(command);
        let strange = self.0.keys().filter(|name| !is_of_others(name) && !known.contains(*name));
        strange.map(|name| BadEnvironment::Unknown { name: name.clone(), nearest: nearest(name, &known) }).collect()
    }

    /// Sets each secret that a file contains as the default of its setting, which a flag overrides.
    ///
    /// # Errors
    /// If a secret comes twice, or its file can't be read.
    pub fn fill(&self, command: Command) -> Result<Command, BadEnvironment> {
        let mut secrets = BTreeMap::new();
        for name in secret_names(&command) {
            let Some(file) = self.0.get(&format!("{name}{FILE}")).map(PathBuf::from) else { continue };
            if self.0.contains_key(&name) {
                return Err(BadEnvironment::Twice { name });
            }
            match std::fs::read_to_string(&file) {
                // Editors end the last line of a file with a line break; no secret ends with one.
                Ok(text) => secrets.insert(name, text.trim_end_matches(['\r', '\n']).to_owned()),
                Err(why) => return Err(BadEnvironment::Unreadable { name, file, why }),
            };
        }
        Ok(given(command, &secrets))
    }

    /// The file that a secret is read from, by the name of its variable.
    pub fn file_of(&self, name: &str) -> Option<PathBuf> {
        self.0.get(&format!("{name}{FILE}")).map(PathBuf::from)
    }
}

impl FromIterator<(String, OsString)> for Environment {
    fn from_iter<T: IntoIterator<Item = (String, OsString)>>(all: T) -> Self {
        Self(all.into_iter().filter(|(name, _)| name.starts_with(OURS)).collect())
    }
}

/// The command and all its subcommands.
fn each(command: &Command) -> Vec<&Command> {
    let below = command.get_subcommands().flat_map(each);
    std::iter::once(command).chain(below).collect()
}

/// The variables of settings, either those of secrets or the others.
fn variables(command: &Command, secret: bool) -> impl Iterator<Item = String> {
    let arguments = each(command).into_iter().flat_map(Command::get_arguments);
    let chosen = arguments.filter(move |argument| argument.is_hide_env_values_set() == secret);
    chosen.filter_map(|argument| Some(argument.get_env()?.to_string_lossy().into_owned()))
}

fn secret_names(command: &Command) -> BTreeSet<String> {
    variables(command, true).collect()
}

fn names(command: &Command) -> BTreeSet<String> {
    let secrets = secret_names(command);
    let files: Vec<String> = secrets.iter().map(|name| format!("{name}{FILE}")).collect();
    variables(command, false).chain(secrets).chain(files).collect()
}

fn given(command: Command, secrets: &BTreeMap<String, String>) -> Command {
    let command = command.mut_args(|argument| {
        let secret = argument.get_env().and_then(|name| secrets.get(name.to_str()?)).cloned();
        match secret {
            Some(secret) => argument.default_value(secret).hide_default_value(true),
            None => argument,
        }
    });
    command.mut_subcommands(|below| given(below, secrets))
}

/// The known name that is most similar to an unknown one, if it is similar enough.
fn nearest(name: &str, known: &BTreeSet<String>) -> Option<String> {
    let rest = |name: &str| name.trim_start_matches(OURS).to_owned();
    let far = |known: &str| strsim::damerau_levenshtein(&rest(name), &rest(known));
    // A third of the letters may be wrong; with more, it is another word.
    let may = 2.max(rest(name).chars().count() / 3);
    known.iter().map(|known| (far(known), known)).filter(|(far, _)| *far <= may).min().map(|(_, known)| known.clone())
}

#[cfg(test)]
mod tests {
    use clap::{Arg, Command};

    use super::Environment;

    fn command() -> Command {
        let secret = Arg::new("key").long("key").env("BAYWRIGHT_KEY").hide_env_values(true);
        let plain = Arg::new("listen").long("listen").env("BAYWRIGHT_LISTEN");
        Command::new("x")
            .arg(Arg::new("data").long("data").env("BAYWRIGHT_DATA"))
            .subcommand(Command::new("serve").arg(secret).arg(plain))
    }

    fn environment(all: &[(&str, &str)]) -> Environment {
        all.iter().map(|(name, value)| ((*name).to_owned(), value.into())).collect()
    }

    fn complaints(names: &[&str]) -> Vec<String> {
        let all: Vec<_> = names.iter().map(|name| (*name, "1")).collect();
        environment(&all).unknown(&command()).iter().map(ToString::to_string).collect()
    }

    #[test]
    fn variables_of_no_setting_are_named_with_what_may_be_meant() {
        assert_eq!(complaints(&["BAYWRIGHT_LISTEN", "BAYWRIGHT_DATA", "BAYWRIGHT_KEY_FILE", "PATH"]), [""; 0]);
        assert_eq!(complaints(&["BAYWRIGHT_TEST_SEED"]), [""; 0]);
        for (wrong, meant) in [
            ("BAYWRIGHT_LISTNE", "BAYWRIGHT_LISTEN"),
            ("BAYWRIGHT_DATE", "BAYWRIGHT_DATA"),
            ("BAYWRIGHT_KEYFILE", "BAYWRIGHT_KEY_FILE"),
        ] {
            let told = complaints(&[wrong]);
            assert!(told[0].contains(wrong) && told[0].contains(&format!("did you mean {meant}?")), "{told:?}");
        }
        // A setting that is not a secret is not read from a file.
        assert_eq!(complaints(&["BAYWRIGHT_WEATHER", "BAYWRIGHT_LISTEN_FILE"]).len(), 2);
        assert!(!complaints(&["BAYWRIGHT_WEATHER"])[0].contains("did you mean"));
    }

    #[test]
    fn a_secret_comes_from_its_file_where_nothing_else_says_it() {
        let file = tempfile::NamedTempFile::new().unwrap();
        std::fs::write(file.path(), "from a file\n").unwrap();
        let environment = environment(&[("BAYWRIGHT_KEY_FILE", file.path().to_str().unwrap())]);
        let key = |arguments: &[&str]| {
            let matches = environment.fill(command()).unwrap().get_matches_from(arguments);
            matches.subcommand_matches("serve").unwrap().get_one::<String>("key").cloned()
        };
        assert_eq!(key(&["x", "serve"]).as_deref(), Some("from a file"));
        assert_eq!(key(&["x", "serve", "--key", "from a flag"]).as_deref(), Some("from a flag"));
        let help = environment.fill(command()).unwrap();
        let help = help.find_subcommand("serve").unwrap().clone().render_long_help().to_string();
        assert!(!help.contains("from a file"), "{help}");
    }

    #[test]
    fn a_secret_that_comes_twice_or_not_at_all_is_told() {
        let twice = environment(&[("BAYWRIGHT_KEY", "a"), ("BAYWRIGHT_KEY_FILE", "b")]).fill(command()).unwrap_err();
        assert!(twice.to_string().starts_with("BAYWRIGHT_KEY and BAYWRIGHT_KEY_FILE are both set"), "{twice}");
        let missing = environment(&[("BAYWRIGHT_KEY_FILE", "no/such/file")]).fill(command()).unwrap_err();
        assert!(missing.to_string().contains("no/such/file, which can't be read"), "{missing}");
    }
}
