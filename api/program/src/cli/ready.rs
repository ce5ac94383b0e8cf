//! `baywright ready`: asks the service on this machine whether it can serve; meant for a container's health check.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr};
use std::time::Duration;

use clap::Args;

use super::Trouble;

/// Maximum time to wait for the answer.
const PATIENCE: Duration = Duration::from_secs(4);

#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Address and port of the service
    #[arg(long, env = "BAYWRIGHT_LISTEN", default_value = "127.0.0.1:8080")]
    listen: SocketAddr,
}

pub(super) fn run(arguments: &Arguments) -> Result<(), Trouble> {
    let address = to_ask(arguments.listen);
    // A proxy from the environment is only for requests that leave the machine.
    let config = ureq::Agent::config_builder().timeout_global(Some(PATIENCE)).http_status_as_error(false).proxy(None);
    let agent: ureq::Agent = config.build().into();
    let answer = agent.get(format!("http://{address}/readyz")).call();
    let status = answer.map_err(|error| format!("no service answers at {address}: {error}"))?.status();
    if !status.is_success() {
        return Err(format!("the service at {address} is not ready: it answered {status}").into());
    }
    println!("The service at {address} is ready.");
    Ok(())
}

/// Address at which to ask a service that listens there: one that listens on every address also listens on the
/// loopback.
fn to_ask(listen: SocketAddr) -> SocketAddr {
    let ip = match listen.ip() {
        IpAddr::V4(ip) if ip.is_unspecified() => IpAddr::V4(Ipv4Addr::LOCALHOST),
        IpAddr::V6(ip) if ip.is_unspecified() => IpAddr::V6(Ipv6Addr::LOCALHOST),
        ip => ip,
    };
    SocketAddr::new(ip, listen.port())
}

#[cfg(test)]
mod tests {
    use super::to_ask;

    #[test]
    fn a_service_on_every_address_is_asked_on_the_loopback() {
        let asked = |listen: &str| to_ask(listen.parse().unwrap()).to_string();
        assert_eq!(asked("0.0.0.0:8080"), "127.0.0.1:8080");
        assert_eq!(asked("[::]:8080"), "[::1]:8080");
        assert_eq!(asked("192.0.2.7:81"), "192.0.2.7:81");
    }
}
