//! The differences between merging customers and merging vehicles.

use std::slice::from_ref;

use baywright_domain::id::{CustomerId, VehicleId};
use baywright_domain::merge::RecordState;
use serde::Serialize;
use serde::de::DeserializeOwned;

use crate::customer::usecase::merge::TakenOver;
use crate::customer::usecase::{self as customer, Customer};
use crate::payment;
use crate::platform::db::redirect::Column;
use crate::platform::fail::Done;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::vehicle::usecase::{self as vehicle, Vehicle};

/// A record that can be merged into another one of its kind.
pub trait Mergeable: Sized + 'static {
    /// Its id.
    type Id: From<String> + AsRef<str> + PartialEq + Send + 'static;
    /// Values that it took over from a merged record, as the log stores them.
    type TakenOver: Serialize + DeserializeOwned;

    /// Its kind, for people and in the log: `customer` makes `customer.merged` and `customer.separated`.
    const KIND: &'static str;
    /// The column in which other records refer to it.
    const COLUMN: Column;

    /// The record with that id, in whatever state.
    fn find(tx: &mut Tx<'_>, id: &Self::Id) -> Done<Option<Self>>;

    /// The record with that id, if it can take part in a merge: `NotFound` if there is none, `Conflict` if it was
    /// erased or merged before.
    fn standing(tx: &mut Tx<'_>, id: &Self::Id) -> Done<Self>;

    /// Version, which every change raises by one.
    fn version(&self) -> i64;

    /// State of the record.
    fn record_state(&self) -> RecordState;

    /// The record that it was merged into.
    fn merged_into(&self) -> Option<&Self::Id>;

    /// Sentence for the case that two records have nothing in common.
    const NOTHING_IN_COMMON: &'static str;

    /// Whether anything says that both records are of one customer, or of one vehicle.
    fn has_in_common(&self, tx: &Tx<'_>, other: &Self) -> bool;

    /// Marks `gone` as merged into `kept`, unless a rule of this kind forbids it.
    fn mark(tx: &mut Tx<'_>, gone: &Self, kept: &Self) -> Done<()>;

    /// Copies to `kept` the values of `gone` that it lacks; returns what was taken over.
    fn take_over(tx: &mut Tx<'_>, kept: &Self, gone: &Self) -> Done<(Self, Self::TakenOver)>;

    /// Refuses the request if a rule of this kind forbids undoing a merge into `kept`.
    fn check_separable(tx: &mut Tx<'_>, kept: &Self) -> Done<()>;

    /// Removes what was taken over, after the rows that refer to `gone` have moved back to it.
    fn give_back(tx: &mut Tx<'_>, kept: &Self, gone: &Self, taken: &Self::TakenOver) -> Done<()>;

    /// Indexes it again after records that were merged into it changed.
    fn index(&self, tx: &mut Tx<'_>) -> Done<()>;
}

impl Mergeable for Customer {
    type Id = CustomerId;
    type TakenOver = TakenOver;

    const KIND: &'static str = "customer";
    /// Consents have a rule of their own.
    const COLUMN: Column = Column { name: "customer_id", but: Some("customer_consent") };
    const NOTHING_IN_COMMON: &'static str =
        "These two records have neither a telephone number, nor an email address, nor the name in common.";

    fn find(tx: &mut Tx<'_>, id: &CustomerId) -> Done<Option<Self>> {
        Ok(customer::of_ids(tx, from_ref(id))?.pop())
    }

    fn standing(tx: &mut Tx<'_>, id: &CustomerId) -> Done<Self> {
        customer::standing(tx, id)
    }

    fn version(&self) -> i64 {
        self.version
    }

    fn record_state(&self) -> RecordState {
        self.state()
    }

    fn merged_into(&self) -> Option<&CustomerId> {
        self.merged_into.as_ref()
    }

    fn has_in_common(&self, tx: &Tx<'_>, other: &Self) -> bool {
        let (mine, theirs, country) = (&self.details, &other.details, tx.studio.country);
        mine.traits(country).has_in_common(&theirs.traits(country))
            || (mine.vat_id.is_some() && mine.vat_id == theirs.vat_id)
    }

    fn mark(tx: &mut Tx<'_>, gone: &Self, kept: &Self) -> Done<()> {
        customer::merge::mark(tx, gone, kept)
    }

    fn take_over(tx: &mut Tx<'_>, kept: &Self, gone: &Self) -> Done<(Self, TakenOver)> {
        customer::merge::take_over(tx, kept, gone)
    }

    fn check_separable(_: &mut Tx<'_>, _: &Self) -> Done<()> {
        Ok(())
    }

    fn give_back(tx: &mut Tx<'_>, kept: &Self, gone: &Self, taken: &TakenOver) -> Done<()> {
        if payment::usecase::is_across(tx, [&kept.id, &gone.id])? {
            let detail = "A payment covers invoices of both records, so the merge can't be undone.";
            return Err(Refused::conflict("payment-across-customers", detail).into());
        }
        customer::merge::give_back(tx, kept, gone, taken).map(drop)
    }

    fn index(&self, tx: &mut Tx<'_>) -> Done<()> {
        customer::merge::index(tx, self)
    }
}

impl Mergeable for Vehicle {
    type Id = VehicleId;
    type TakenOver = Vec<String>;

    const KIND: &'static str = "vehicle";
    const COLUMN: Column = Column { name: "vehicle_id", but: None };
    const NOTHING_IN_COMMON: &'static str =
        "These two records have neither the registration nor the identification number in common.";

    fn find(tx: &mut Tx<'_>, id: &VehicleId) -> Done<Option<Self>> {
        Ok(vehicle::of_ids(tx, from_ref(id))?.pop())
    }

    fn standing(tx: &mut Tx<'_>, id: &VehicleId) -> Done<Self> {
        vehicle::standing(tx, id)
    }

    fn version(&self) -> i64 {
        self.version
    }

    fn record_state(&self) -> RecordState {
        self.state()
    }

    fn merged_into(&self) -> Option<&VehicleId> {
        self.merged_into.as_ref()
    }

    fn has_in_common(&self, _: &Tx<'_>, other: &Self) -> bool {
        self.details.traits().has_in_common(&other.details.traits())
    }

    fn mark(tx: &mut Tx<'_>, gone: &Self, kept: &Self) -> Done<()> {
        if kept.details.customer_id != gone.details.customer_id {
            let detail = "This vehicle belongs to another customer. If both customers are one, merge the customers \
                          first. If the vehicle was sold on, keep both records, because each owner keeps their own \
                          papers.";
            return Err(Refused::field("/other_id", "other_customer", detail).into());
        }
        customer::standing(tx, &kept.details.customer_id)?;
        vehicle::merge::mark(tx, gone, kept)
    }

    fn take_over(tx: &mut Tx<'_>, kept: &Self, gone: &Self) -> Done<(Self, Vec<String>)> {
        vehicle::merge::take_over(tx, kept, gone)
    }

    fn check_separable(tx: &mut Tx<'_>, kept: &Self) -> Done<()> {
        customer::standing(tx, &kept.details.customer_id).map(drop)
    }

    fn give_back(tx: &mut Tx<'_>, kept: &Self, gone: &Self, taken: &Vec<String>) -> Done<()> {
        vehicle::merge::give_back(tx, kept, gone, taken).map(drop)
    }

    fn index(&self, tx: &mut Tx<'_>) -> Done<()> {
        vehicle::merge::index(tx, self)
    }
}
