//! `baywright menu`.

use crate::on_each_engine;

#[test]
fn a_menu_to_begin_from_is_loaded_and_published_from_the_command_line() {
    on_each_engine(|_, program| {
        let first = ["menu", "first", "--labour-rate", "65.00", "--price-step", "1.00"];
        let out = program.run(&first).good();
        assert!(out.starts_with("Loaded 26 services, 5 packages, 56 steps and 37 products into the draft.\n"), "{out}");
        assert!(out.contains("common practice"), "{out}");
        let again = program.run(&first).bad();
        assert!(again.contains("is not empty"), "{again}");
        let replaced =
            program.run(&[&first[..], &["--replace", "--publish", "--service", "interior-refresh"]].concat());
        let out = replaced.good();
        assert!(out.starts_with("Loaded 1 services"), "{out}");
        assert!(
            program.run(&["menu", "first", "--labour-rate=-5", "--price-step", "1.00"]).bad().contains("labour-rate")
        );
        let serving = program.serve(&[]);
        let owner = serving.owner();
        let menu = owner.get("/v1/menu").expect(200);
        assert_eq!(menu["menu"]["services"].as_array().map(Vec::len), Some(1));
        assert_eq!(owner.get("/v1/rates").expect(200)["labour_rate"]["amount"], "65.00");
        drop(serving);
        program.run(&["verify"]).good();
    });
}
