//! Parts that commands on the machine itself share: the database brought up to date, the shop in question, a typed
//! password.

use std::io::BufRead;
use std::path::PathBuf;
use std::sync::Arc;

use baywright_core::platform::clock::Clock;
use baywright_core::platform::config::{Config, Store};
use baywright_core::platform::db::{Db, NotOpened, Scope, embedded_file, is_only_readable, snapshot};
use baywright_core::platform::fail::{Done, Fail};
use baywright_core::platform::identity::Actor;
use baywright_core::platform::password::{self, Passwords};
use baywright_core::platform::secret::Secret;
use baywright_core::platform::tx::Tx;
use baywright_core::shop::usecase::{Listed, shops};
use baywright_domain::id::ShopId;
use tempfile::TempDir;

use super::{Trouble, files};

/// The context of a command.
pub(super) struct Operator {
    pub(super) db: Db,
    pub(super) clock: Clock,
    pub(super) config: Arc<Config>,
    /// Folder of the copy that is read instead of a file that must not change; it is deleted when the command ends.
    _aside: Option<TempDir>,
}

/// The error's sentence, for standard error.
pub(super) fn said(fail: Fail) -> Trouble {
    let problem = match fail {
        Fail::Refused(problem) => problem,
        Fail::Db(error) => return error.to_string().into(),
        Fail::Unexpected(what) => return what.into(),
    };
    let faults: Vec<&str> = problem.errors().iter().map(|fault| fault.detail.as_str()).collect();
    if faults.is_empty() { problem.detail().to_owned().into() } else { faults.join(" ").into() }
}

/// The service's own settings from the environment.
fn settings(store: &Store) -> Result<Arc<Config>, Trouble> {
    let mut config = Config::of_environment()?.checked()?;
    config.data.clone_from(&store.data);
    Ok(Arc::new(config))
}

impl Operator {
    /// Opens the database and brings it up to date.
    pub(super) fn at(store: &Store) -> Result<Self, Trouble> {
        let config = settings(store)?;
        let db = Db::open(&store.database)?;
        db.migrate()?;
        Ok(Self { db, clock: Clock::system(), config, _aside: None })
    }

    /// Opens the database for a command that only reads. That of a backup stays byte for byte as it is, as does one
    /// that the user may only read: if an older program made it, a copy is brought up to date.
    pub(super) fn reading(store: &Store) -> Result<Self, Trouble> {
        let stays = |file: &PathBuf| snapshot::is_untouched(file) || is_only_readable(file);
        let Some(file) = embedded_file(&store.database).filter(stays) else { return Self::at(store) };
        let db = Db::open_unchanged(&file)?;
        match db.ensure_current() {
            Err(NotOpened::Behind) => {}
            current => {
                current?;
                return Self::on(db, store);
            }
        }
        let aside = tempfile::Builder::new().prefix("baywright-copy-").tempdir()?;
        let copy = aside.path().join("copy.db");
        if snapshot::is_complete(&file) {
            files::copy(&file, &copy)?;
        } else {
            snapshot::copy(&file, &copy)?;
        }
        let db = Db::open(&format!("sqlite:{}", copy.display()))?;
        db.migrate()?;
        Ok(Self { _aside: Some(aside), ..Self::on(db, store)? })
    }

    /// Works on a database that is already open and up to date; of `store` only the folder is used.
    pub(super) fn on(db: Db, store: &Store) -> Result<Self, Trouble> {
        Ok(Self { db, clock: Clock::system(), config: settings(store)?, _aside: None })
    }

    /// Returns the result of reading; if a service was started meanwhile, neither a result nor a failure can be
    /// trusted.
    ///
    /// # Errors
    /// The failure, or what to do if a service was started.
    pub(super) fn undisturbed<T>(&self, read: Done<T>) -> Result<T, Trouble> {
        if self.db.is_disturbed() {
            return Err("the service was started while its database was read; run the command again".into());
        }
        read.map_err(said)
    }

    /// The shops of the database.
    pub(super) fn shops(&self) -> Result<Vec<Listed>, Trouble> {
        self.undisturbed(self.db.read(shops))
    }

    /// The shop in question: the named one, or the only one.
    pub(super) fn shop(&self, named: Option<&str>) -> Result<ShopId, Trouble> {
        let mut all = self.shops()?;
        if let Some(named) = named {
            let found = all.into_iter().find(|shop| shop.id.as_str() == named || shop.name == named);
            return found
                .map(|shop| shop.id)
                .ok_or_else(|| format!("there is no shop {named:?}; `baywright shop list` lists the shops").into());
        }
        match all.len() {
            0 => Err("there is no shop yet; create one with `baywright shop create`".into()),
            1 => Ok(all.remove(0).id),
            _ => Err("there are several shops; name one with --shop, `baywright shop list` lists them".into()),
        }
    }

    /// Runs a use case in a transaction of that shop.
    pub(super) fn write<T>(&self, shop: &ShopId, mut f: impl FnMut(&mut Tx<'_>) -> Done<T>) -> Result<T, Trouble> {
        let now = self.clock.now();
        let done = self.db.write(Scope::Shop(shop), |conn| {
            f(&mut Tx::for_program(conn, Actor::Operator, shop, now, self.config.clone())?)
        });
        done.map_err(said)
    }

    /// Runs a use case that changes nothing.
    pub(super) fn read<T>(&self, shop: &ShopId, f: impl FnOnce(&mut Tx<'_>) -> Done<T>) -> Result<T, Trouble> {
        let now = self.clock.now();
        let done = self.db.read(|conn| f(&mut Tx::for_program(conn, Actor::Operator, shop, now, self.config.clone())?));
        self.undisturbed(done)
    }
}

/// The digest of a password that is the first line of standard input.
pub(super) fn typed_password(known: &[&str]) -> Result<String, Trouble> {
    let mut line = String::new();
    std::io::stdin().lock().read_line(&mut line)?;
    let password = Secret::new(line.trim_end_matches(['\r', '\n']).to_owned())?;
    password::judge("", &password, known).map_err(|problem| said(problem.into()))?;
    Passwords::default().hash(&password).map_err(said)
}

#[cfg(test)]
mod tests {
    use baywright_core::platform::keyring::kept;

    use super::*;

    #[test]
    fn what_is_read_without_locks_while_a_service_starts_is_not_told() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("shop.db");
        let store = Store { database: format!("sqlite:{}", file.display()), data: folder.path().to_owned() };
        let service = || {
            let db = Db::open(&store.database).unwrap();
            db.migrate().unwrap();
            db
        };
        drop(service());
        assert!(!snapshot::is_in_use(&file).unwrap());
        let operator = Operator::on(Db::open_unchanged(&file).unwrap(), &store).unwrap();
        assert!(operator.shops().unwrap().is_empty());
        let started = service();
        let told = operator.shops().map(|shops| shops.len()).unwrap_err().to_string();
        assert!(told.contains("the service was started"), "{told}");
        // A service that has ended leaves no write-ahead log, and has changed the file's modification time.
        std::thread::sleep(std::time::Duration::from_millis(20));
        kept::rotate(&started, operator.clock.now()).unwrap();
        drop(started);
        assert!(!snapshot::is_in_use(&file).unwrap());
        assert!(operator.shops().is_err());
    }
}
