//! What trouble inside the database's connections leaves behind.

use std::panic::{AssertUnwindSafe, catch_unwind};

use baywright::platform::db::Scope;
use baywright::platform::fail::Fail;
use baywright_tests::on_each_engine;

#[test]
fn a_panic_inside_a_transaction_costs_no_connection() {
    on_each_engine(|studio| {
        for _ in 0..12 {
            let read = || studio.db.read(|_| -> Result<(), Fail> { panic!("on purpose") });
            assert!(catch_unwind(AssertUnwindSafe(read)).is_err());
            let write = || studio.db.write(Scope::Program, |_| -> Result<(), Fail> { panic!("on purpose") });
            assert!(catch_unwind(AssertUnwindSafe(write)).is_err());
        }
        assert_eq!(studio.nobody().get("/readyz").status, 200);
        studio.owner().add_customer("Aoife Byrne");
    });
}
