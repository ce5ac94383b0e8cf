//! Scheduled reminders. Each kind is a job of its own, so that a failing one does not delay the others.

use super::usecase;
use crate::clockwork::Job;

/// Customers whose cars are expected.
pub const BOOKINGS: Job = Job { name: "reminder.booking", every_minutes: 15, run: usecase::before_bookings };

/// Customers whose quotes are about to lapse.
pub const QUOTES: Job = Job { name: "reminder.lapse", every_minutes: 15, run: usecase::before_lapse };

/// Customers whose invoices are overdue.
pub const INVOICES: Job = Job { name: "reminder.overdue", every_minutes: 15, run: usecase::overdue };
