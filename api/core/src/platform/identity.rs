//! Who is asking: roles, actors, and the sign-in behind a request.

mod audience;
mod session;

pub use audience::{Accounts, Anyone, Audience, Bay, Crew, Desk, Invited, Owner};
pub use session::{IDLE_MINUTES, SignedIn, Studio, shop_on_pages, sign_in_ended, standing, standing_on_pages};

use baywright_domain::id::{LinkId, PersonId, SessionId};

pub use baywright_domain::people::Role;

/// Actor in the shop, as the log names them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Actor {
    /// Person who works in the shop and is signed in.
    Person {
        /// Id of the person.
        id: PersonId,
        /// Role of the person.
        role: Role,
        /// Id of the sign-in.
        session: SessionId,
    },
    /// Customer who has a link.
    Customer {
        /// Id of the link.
        link: LinkId,
    },
    /// The program's own scheduler.
    Clockwork,
    /// A person at the command line of the machine itself.
    Operator,
}

impl Actor {
    /// One word for the kind of actor.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Person { .. } => "PERSON",
            Self::Customer { .. } => "CUSTOMER",
            Self::Clockwork => "CLOCKWORK",
            Self::Operator => "OPERATOR",
        }
    }

    /// The id that goes with the kind, or empty.
    pub fn id(&self) -> &str {
        match self {
            Self::Person { id, .. } => id.as_str(),
            Self::Customer { link } => link.as_str(),
            Self::Clockwork | Self::Operator => "",
        }
    }

    /// The person, if the actor is one.
    pub fn person(&self) -> Option<&PersonId> {
        match self {
            Self::Person { id, .. } => Some(id),
            _ => None,
        }
    }

    /// The role, if the actor is a person.
    pub fn role(&self) -> Option<Role> {
        match self {
            Self::Person { role, .. } => Some(*role),
            _ => None,
        }
    }
}
