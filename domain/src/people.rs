//! The people of the studio: their roles, and what each role may do.

use alloc::string::String;

use crate::word::words;

/// The form of an email address by which an account is found: without spaces around it and in lower case, since no two
/// accounts differ only in capitals.
pub fn email_key(email: &str) -> String {
    email.trim().to_lowercase()
}

words! {
    /// Role of a person in the studio.
    pub enum Role("role") {
        /// Owns the studio; may do everything.
        Owner = "OWNER" "owner",
        /// Runs the desk: everything except people's accounts, rates and write-offs.
        Desk = "DESK" "desk",
        /// Works on cars: own jobs, plans and inspections, without prices or contact details.
        Technician = "TECHNICIAN" "technician",
        /// Reads money.
        Accountant = "ACCOUNTANT" "accountant",
    }
}

words! {
    /// An area of tasks that a role may do or not.
    pub enum Task("task") {
        /// Invite people, change their roles, end their sign-ins.
        ManageAccounts = "MANAGE_ACCOUNTS" "manage accounts of people",
        /// Change labour and tax rates, factors and the price step.
        ChangeRates = "CHANGE_RATES" "change rates",
        /// Write off the unpaid amount of an invoice.
        WriteOff = "WRITE_OFF" "write off",
        /// Change opening hours, bays, templates and other settings.
        ChangeShop = "CHANGE_SHOP" "change the studio's settings",
        /// Change services, steps, products and packages.
        ChangeMenu = "CHANGE_MENU" "change the menu",
        /// See the menu's services and steps, without prices.
        ReadMenu = "READ_MENU" "read the menu",
        /// See prices and amounts of quotes and the menu.
        ReadPrices = "READ_PRICES" "read prices",
        /// See customers with their contact details and enquiries.
        ReadCustomers = "READ_CUSTOMERS" "read customers",
        /// Add and change customers, vehicles and enquiries.
        ChangeCustomers = "CHANGE_CUSTOMERS" "change customers",
        /// Write and send quotes and variations, and record sign-offs.
        ChangeQuotes = "CHANGE_QUOTES" "change quotes",
        /// Hold, book, move and cancel places.
        ChangeBookings = "CHANGE_BOOKINGS" "change bookings",
        /// See the diary, work plans and job sheets.
        ReadPlans = "READ_PLANS" "read plans",
        /// Start, stop, finish and remove steps of one's own jobs.
        WorkOwnJobs = "WORK_OWN_JOBS" "work on own jobs",
        /// The same for anybody's jobs.
        WorkAllJobs = "WORK_ALL_JOBS" "work on all jobs",
        /// Record findings, readings and photographs.
        Inspect = "INSPECT" "inspect cars",
        /// Decide about thin paint and other matters for the owner alone.
        DecideRisk = "DECIDE_RISK" "decide on thin paint",
        /// See invoices, payments, tax summaries and statements.
        ReadMoney = "READ_MONEY" "read invoices and payments",
        /// Issue and credit invoices, record payments and refunds.
        ChangeMoney = "CHANGE_MONEY" "change invoices and payments",
        /// See messages and send failed ones again.
        Messages = "MESSAGES" "handle messages",
        /// See the results of learning, and which services earn money.
        ReadReports = "READ_REPORTS" "read reports",
        /// Export the ledger, the log and all records.
        Export = "EXPORT" "export records",
    }
}

/// Whether a role may do a task. Work on a job needs [`Task::WorkOwnJobs`] if it is the person's own, else
/// [`Task::WorkAllJobs`].
pub const fn may(role: Role, task: Task) -> bool {
    match role {
        Role::Owner => true,
        Role::Desk => !matches!(task, Task::ManageAccounts | Task::ChangeRates | Task::WriteOff | Task::DecideRisk),
        Role::Technician => matches!(task, Task::ReadMenu | Task::ReadPlans | Task::WorkOwnJobs | Task::Inspect),
        Role::Accountant => matches!(task, Task::ReadPrices | Task::ReadMoney | Task::ReadReports | Task::Export),
    }
}

/// Part of a customer's data that a role sees.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CustomerView {
    /// Everything.
    Full,
    /// Data on invoices: name, address, tax number.
    Billing,
    /// The first name.
    FirstName,
}

/// The part of customers' data that a role sees.
pub const fn customer_view(role: Role) -> CustomerView {
    match role {
        Role::Owner | Role::Desk => CustomerView::Full,
        Role::Accountant => CustomerView::Billing,
        Role::Technician => CustomerView::FirstName,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_owner_may_do_everything() {
        assert!(Task::ALL.iter().all(|task| may(Role::Owner, *task)));
    }

    #[test]
    fn the_desk_may_do_all_but_accounts_rates_and_write_offs() {
        for task in [Task::ManageAccounts, Task::ChangeRates, Task::WriteOff] {
            assert!(!may(Role::Desk, task));
        }
        for task in [Task::ChangeQuotes, Task::ChangeMoney, Task::ReadCustomers, Task::ChangeMenu, Task::WorkAllJobs] {
            assert!(may(Role::Desk, task));
        }
    }

    #[test]
    fn a_technician_sees_no_prices_and_no_contact_beyond_the_first_name() {
        for task in [Task::ReadPrices, Task::ReadMoney, Task::ReadCustomers, Task::WorkAllJobs, Task::Messages] {
            assert!(!may(Role::Technician, task));
        }
        assert_eq!(customer_view(Role::Technician), CustomerView::FirstName);
    }

    #[test]
    fn an_accountant_reads_money_and_changes_nothing() {
        let changes = [
            Task::ManageAccounts,
            Task::ChangeRates,
            Task::WriteOff,
            Task::ChangeShop,
            Task::ChangeMenu,
            Task::Inspect,
            Task::ChangeCustomers,
            Task::ChangeQuotes,
            Task::ChangeBookings,
            Task::WorkOwnJobs,
            Task::WorkAllJobs,
            Task::DecideRisk,
            Task::ChangeMoney,
            Task::Messages,
        ];
        assert!(changes.iter().all(|task| !may(Role::Accountant, *task)));
        assert!(may(Role::Accountant, Task::ReadMoney));
    }
}
