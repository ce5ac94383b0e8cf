//! Telemetry: log lines on standard error, and Prometheus metrics.

mod log;

use std::sync::{Mutex, PoisonError};
use std::time::Duration;

pub use log::{Logging, start};
use prometheus::{Encoder, HistogramOpts, HistogramVec, IntCounter, IntGauge, Opts, Registry, TextEncoder};

/// Buckets of the HTTP semantic conventions of OpenTelemetry, in seconds.
const BUCKETS: &[f64] = &[0.005, 0.01, 0.025, 0.05, 0.075, 0.1, 0.25, 0.5, 0.75, 1.0, 2.5, 5.0, 7.5, 10.0];

/// The metrics of one program.
#[derive(Clone)]
pub struct Metrics {
    registry: Registry,
    requests: HistogramVec,
    /// Mails that wait to be sent.
    pub outbox_pending: IntGauge,
    /// Age of the oldest waiting mail, in seconds.
    pub outbox_oldest_seconds: IntGauge,
    log_lines_lost: IntCounter,
}

impl Metrics {
    /// New metrics.
    ///
    /// # Errors
    /// If a metric has an invalid name; a defect that is found at the start.
    pub fn new() -> Result<Self, prometheus::Error> {
        let registry = Registry::new();
        let requests = HistogramVec::new(
            HistogramOpts::new("http_server_request_duration_seconds", "Time from request to answer.")
                .buckets(BUCKETS.to_vec()),
            &["method", "route", "status"],
        )?;
        let outbox_pending = IntGauge::with_opts(Opts::new("outbox_pending", "Mails that wait to be sent."))?;
        let oldest = Opts::new("outbox_oldest_seconds", "Age of the oldest mail that waits to be sent.");
        let outbox_oldest_seconds = IntGauge::with_opts(oldest)?;
        let lost = "Lines of the log that could not be written since the program started.";
        let log_lines_lost = IntCounter::with_opts(Opts::new("log_lines_lost_total", lost))?;
        registry.register(Box::new(log_lines_lost.clone()))?;
        registry.register(Box::new(requests.clone()))?;
        registry.register(Box::new(outbox_pending.clone()))?;
        registry.register(Box::new(outbox_oldest_seconds.clone()))?;
        Ok(Self { registry, requests, outbox_pending, outbox_oldest_seconds, log_lines_lost })
    }

    /// Counts an answer by the digits of its status. The route is a template and the method one of a few, so that no client
    /// can create new series.
    pub fn request(&self, method: &str, route: &str, status: &str, took: Duration) {
        let method = match method {
            known @ ("GET" | "POST" | "PUT" | "PATCH" | "DELETE" | "OPTIONS" | "HEAD") => known,
            _ => "other",
        };
        self.requests.with_label_values(&[method, route, status]).observe(took.as_secs_f64());
    }

    /// The metrics as Prometheus reads them.
    pub fn text(&self) -> String {
        // The log belongs to the whole process, so its count is copied here, by one scrape at a time.
        static TAKING_OVER: Mutex<()> = Mutex::new(());
        let alone = TAKING_OVER.lock().unwrap_or_else(PoisonError::into_inner);
        self.log_lines_lost.inc_by(log::lost().saturating_sub(self.log_lines_lost.get()));
        drop(alone);
        let mut bytes = Vec::new();
        if let Err(error) = TextEncoder::new().encode(&self.registry.gather(), &mut bytes) {
            tracing::error!(%error, "metrics");
        }
        String::from_utf8(bytes).unwrap_or_default()
    }
}
