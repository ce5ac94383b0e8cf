//! A database server that stands still: it takes what it is sent and answers nothing.

use std::io::{Read, Write};
use std::net::{Shutdown, SocketAddr, TcpListener, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use url::Url;

use crate::on_each_engine;

/// Stands between the program and the server, and can hold everything back.
struct Relay {
    held: Arc<AtomicBool>,
    address: SocketAddr,
}

impl Relay {
    fn to(server: SocketAddr) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let (held, address) = (Arc::new(AtomicBool::new(false)), listener.local_addr().unwrap());
        let shared = held.clone();
        std::thread::spawn(move || {
            for client in listener.incoming().flatten() {
                let Ok(server) = TcpStream::connect(server) else { continue };
                for (from, to) in [(&client, &server), (&server, &client)] {
                    let (from, to) = (from.try_clone().unwrap(), to.try_clone().unwrap());
                    let held = shared.clone();
                    std::thread::spawn(move || pass(from, to, &held));
                }
            }
        });
        Self { held, address }
    }
}

fn pass(mut from: TcpStream, mut to: TcpStream, held: &AtomicBool) {
    let mut bytes = [0; 4096];
    while let Ok(count @ 1..) = from.read(&mut bytes) {
        while held.load(Ordering::Relaxed) {
            std::thread::sleep(Duration::from_millis(10));
        }
        if to.write_all(&bytes[..count]).is_err() {
            break;
        }
    }
    let _ = to.shutdown(Shutdown::Both);
}

#[test]
fn requests_are_told_to_come_again_while_the_database_server_stands_still() {
    on_each_engine(|fresh, program| {
        let Ok(mut address) = Url::parse(&fresh.address) else { return };
        if address.scheme() != "postgres" {
            return;
        }
        let server = address.socket_addrs(|| Some(5432)).unwrap()[0];
        let relay = Relay::to(server);
        address.set_port(Some(relay.address.port())).unwrap();
        let serving = program.on(address.as_str(), fresh.folder()).serve(&[]);
        let owner = serving.owner();
        owner.get("/v1/customers").expect(200);
        relay.held.store(true, Ordering::Relaxed);
        let begun = Instant::now();
        // More than there are connections: the first wait for the server, the others for a connection.
        std::thread::scope(|scope| {
            let ask = |number: usize| {
                let owner = owner.clone();
                scope.spawn(move || match number % 2 {
                    0 => owner.get("/v1/customers"),
                    _ => owner.post("/v1/customers", &serde_json::json!({ "name": format!("Customer {number}") })),
                })
            };
            let asked: Vec<_> = (0..24).map(ask).collect();
            for answer in asked.into_iter().map(|asked| asked.join().unwrap()) {
                assert_eq!(answer.header("retry-after"), "5", "{}: {}", answer.asked, answer.text);
                answer.problem(503, "unavailable");
            }
        });
        assert!(begun.elapsed() < Duration::from_mins(1), "{:?}", begun.elapsed());
        relay.held.store(false, Ordering::Relaxed);
        let well = (0..50).any(|_| {
            std::thread::sleep(Duration::from_millis(100));
            owner.get("/v1/customers").status == 200
        });
        assert!(well, "the service did not come back");
    });
}
