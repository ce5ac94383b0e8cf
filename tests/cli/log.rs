//! What the log says of a request.

use std::path::Path;

use baywright_tests::engine::{Engine, engines, run_sql};
use serde_json::Value;

use crate::shop_on;

/// The example of the W3C Recommendation "Trace Context", section 3.2.3.
const PARENT: &str = "00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01";

/// Waits until the log has that text `times` times: lines are written by a thread of their own, a moment after the answer.
fn wait_for(log: &Path, times: usize, text: &str) {
    for _ in 0..200 {
        if std::fs::read_to_string(log).unwrap().matches(text).count() >= times {
            break;
        }
        std::thread::sleep(std::time::Duration::from_millis(20));
    }
}

fn lines(log: &Path) -> Vec<Value> {
    std::fs::read_to_string(log).unwrap().lines().map(|line| serde_json::from_str(line).unwrap()).collect()
}

#[test]
fn a_requests_line_names_it_and_the_trace_it_belongs_to() {
    for engine in engines() {
        let (fresh, program) = shop_on(engine);
        let log = fresh.folder().join("log");
        let mut serving = program.serve_logging(&log);
        let nobody = serving.nobody();
        let future = PARENT.replace("00-4b", "cc-4b") + "-and-more";
        for (id, parent) in [
            ("told-00000001", Some(PARENT)),
            ("told-00000002", Some(future.as_str())),
            ("none-00000003", None),
            ("none-00000004", Some("00-00000000000000000000000000000000-00f067aa0ba902b7-01")),
            ("none-00000005", Some("00-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01-more")),
            ("none-00000006", Some("ff-4bf92f3577b34da6a3ce929d0e0e4736-00f067aa0ba902b7-01")),
            ("none-00000007", Some("\" trace_id=1 level=ERROR")),
        ] {
            let mut headers = vec![("x-request-id", id)];
            headers.extend(parent.map(|parent| ("traceparent", parent)));
            let answer = nobody.send("GET", "/livez", &headers, None);
            assert_eq!((answer.status, answer.header("x-request-id")), (200, id));
            assert_eq!(answer.header("traceparent"), "", "it is for the log alone");
        }
        // Nobody has this password, and that is logged inside the request.
        let wrong = serde_json::json!({ "email": "nobody@example.com", "password": "three dry sponges" });
        let headers = [("x-request-id", "failed-0000008"), ("traceparent", PARENT)];
        nobody.json("POST", "/v1/sessions", &headers, &wrong).expect(401);
        wait_for(&log, 9, "\"target\":\"access\"");
        serving.kill();
        let lines = lines(&log);
        let of =
            |id: &str| lines.iter().find(|line| line["fields"]["request_id"] == id).unwrap_or_else(|| panic!("{id}"));
        for id in ["told-00000001", "told-00000002", "failed-0000008"] {
            let fields = &of(id)["fields"];
            assert_eq!(fields["trace_id"], "4bf92f3577b34da6a3ce929d0e0e4736", "{fields}");
            assert_eq!(fields["parent_id"], "00f067aa0ba902b7", "{fields}");
        }
        for number in 3..=7 {
            let fields = &of(&format!("none-0000000{number}"))["fields"];
            assert_eq!((&fields["trace_id"], &fields["status"]), (&Value::Null, &Value::from(200)), "{fields}");
        }
        let inside = lines.iter().find(|line| line["fields"]["message"] == "a sign-in failed").unwrap();
        assert_eq!(inside["span"]["request_id"], "failed-0000008", "{inside}");
        assert_eq!(inside["span"]["trace_id"], "4bf92f3577b34da6a3ce929d0e0e4736", "{inside}");
    }
}

#[test]
fn the_log_says_why_a_server_takes_no_changes() {
    for engine in engines().into_iter().filter(|engine| *engine == Engine::Postgres) {
        let (fresh, program) = shop_on(engine);
        let (_, name) = program.database.rsplit_once('/').unwrap();
        // From the next connection on, the question whether changes are taken fails.
        let no = "CREATE FUNCTION public.current_setting(text) RETURNS text LANGUAGE plpgsql AS \
                  $$ BEGIN RAISE EXCEPTION 'refused on purpose'; END $$";
        run_sql(&program.database, &format!("{no}; ALTER DATABASE {name} SET search_path = public, pg_catalog"));
        let log = fresh.folder().join("log");
        let mut serving = program.serve_logging(&log);
        serving.nobody().get("/readyz").problem(503, "unavailable");
        let told = "no change can be made now";
        wait_for(&log, 1, told);
        serving.kill();
        let all = lines(&log);
        let line = all.iter().find(|line| line["fields"]["message"] == told).unwrap();
        let error = line["fields"]["error"].as_str().unwrap();
        assert!(error.contains("refused on purpose"), "{error}");
    }
}
