//! `baywright import`.

use std::fs::write;

use crate::on_each_engine;

#[test]
fn a_list_is_taken_in_and_what_was_refused_is_shown() {
    on_each_engine(|fresh, program| {
        let list = fresh.folder().join("list.csv");
        let list = list.to_str().unwrap();
        write(list, "name,emails\nAoife Byrne,aoife@example.com\n,x@example.com\nCiara Walsh,none\n").unwrap();
        let ran = program.run(&["import", "customers", list]);
        assert!(!ran.ok && ran.err.contains("2 rows were refused"), "{ran:?}");
        assert!(ran.out.contains("line 3, name: Write the name."), "{}", ran.out);
        assert!(ran.out.contains("line 4, emails: Write an email address"), "{}", ran.out);
        assert!(ran.out.ends_with("3 rows: 1 added, 0 already there, 2 refused.\n"), "{}", ran.out);
        write(list, "name,emails\nAoife Byrne,aoife@example.com\nCiara Walsh,ciara@example.com\n").unwrap();
        let out = program.run(&["import", "customers", list, "--shop", "Test Studio"]).good();
        assert!(out.contains("line 2: already exists ("), "{out}");
        assert!(out.ends_with("2 rows: 1 added, 1 already there, 0 refused.\n"), "{out}");
        write(
            list,
            "customer_email;make;model;size_class;vin\nciara@example.com;Corrigan;Estate;large;1G4AH59H55G118341\n",
        )
        .unwrap();
        let out = program.run(&["import", "vehicles", list]).good();
        assert!(out.contains("line 2, vin: "), "{out}");
        let owner = program.serve(&[]).owner();
        drop(owner);
        program.run(&["verify"]).good();
    });
}

#[test]
fn a_list_of_many_transactions_is_taken_in_whole() {
    on_each_engine(|fresh, program| {
        let list = fresh.folder().join("list.csv");
        let rows: Vec<String> = (0..3_000).map(|n| format!("Customer {n},c{n}@example.com")).collect();
        write(&list, format!("name,emails\n{}\n", rows.join("\n"))).unwrap();
        let arguments = ["import", "customers", list.to_str().unwrap()];
        assert!(program.run(&arguments).good().ends_with("3000 rows: 3000 added, 0 already there, 0 refused.\n"));
        assert!(program.run(&arguments).good().ends_with("3000 rows: 0 added, 3000 already there, 0 refused.\n"));
    });
}

#[test]
fn what_cannot_be_done_says_what_to_do() {
    on_each_engine(|fresh, program| {
        let list = fresh.folder().join("list.csv");
        let list = list.to_str().unwrap();
        assert!(program.run(&["import", "customers", list]).bad().contains("can't read"));
        write(list, "name,colour\nAoife,red\n").unwrap();
        assert!(program.run(&["import", "customers", list]).bad().contains("\"colour\""));
        let other = program.run(&["import", "customers", list, "--shop", "Nowhere"]).bad();
        assert!(other.contains("there is no shop \"Nowhere\""), "{other}");
        let help = program.run(&["import", "--help"]).good();
        for told in ["UTF-8", "customers", "vehicles", "--shop", "baywright export"] {
            assert!(help.contains(told), "{told}: {help}");
        }
    });
}
