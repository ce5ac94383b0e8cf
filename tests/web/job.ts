// The main job with a client that was generated from the API document: one car from the first call to the paid invoice.
// Usage: node out/job.js ADDRESS EMAIL PASSWORD. Nothing here writes a request by hand; a misspelt field does not compile.
import { randomUUID } from "node:crypto";
import createClient from "openapi-fetch";
import type { paths } from "./schema.js";

const [base, email, password] = process.argv.slice(2);
if (!base || !email || !password) throw new Error("usage: job.js ADDRESS EMAIL PASSWORD");

const api = createClient<paths>({ baseUrl: base });
const key = () => ({ "Idempotency-Key": randomUUID() });
const seen = (record: { version: number }) => ({ "If-Match": `"${record.version}"` });
const euro = (amount: string) => ({ amount, currency: "EUR" });

/** The answer's body, or the problem as an error. */
async function good<T>(answer: Promise<{ data?: T; error?: unknown; response: Response }>): Promise<NonNullable<T>> {
  const { data, error, response } = await answer;
  if (!response.ok || data === undefined || data === null)
    throw new Error(`${response.url}: ${response.status} ${JSON.stringify(error)}`);
  return data;
}

function same(what: string, found: unknown, wanted: unknown) {
  if (JSON.stringify(found) !== JSON.stringify(wanted)) throw new Error(`${what}: ${JSON.stringify(found)}`);
  console.log(`ok: ${what}`);
}

const session = await good(api.POST("/v1/sessions", { body: { email, password } }));
api.use({
  onRequest({ request }) {
    request.headers.set("Authorization", `Bearer ${session.access_token}`);
    return request;
  },
});

// --- the studio: a bay, somebody who works, a menu of one wash ------------------------------------------------------
const days = ["MONDAY", "TUESDAY", "WEDNESDAY", "THURSDAY", "FRIDAY", "SATURDAY", "SUNDAY"] as const;
const always = days.map((weekday) => ({ weekday, from: "00:00", until: "24:00" }));
await good(api.POST("/v1/bays", { params: { header: key() }, body: { name: "Bay 1", features: [] } }));
const hours = await good(api.GET("/v1/opening-hours", {}));
await good(api.PUT("/v1/opening-hours", { params: { header: seen(hours) }, body: { hours: always } }));
await good(
  api.POST("/v1/people", {
    params: { header: key() },
    body: { name: "Sean Walsh", email: "sean@example.com", role: "TECHNICIAN", skills: [], shifts: always },
  }),
);
const draft = await good(api.GET("/v1/menu/draft", {}));
const price = euro("80.00");
const written = await good(
  api.PUT("/v1/menu/draft", {
    params: { header: seen(draft) },
    body: {
      gates: [],
      packages: [],
      products: [],
      steps: [
        {
          code: "rinse", name: "Rinse and wash", stage: 10, base_minutes: 45, by_size: true, by_condition: true,
          two_hands: null, skills: [], bay_features: [], wait: null, split_piece_minutes: null, doses: [], hazards: [],
          setup: { area: "WET", side: "OUTSIDE", zone: null, tool: null, masked: false, soil: "DIRTY" },
          own_cautions: [], after: [],
        },
      ],
      services: [
        {
          code: "wash", name: "Maintenance wash", summary: "", tax: "standard", steps: [{ step: "rinse" }],
          price: { kind: "FIXED", amounts: { small: price, medium: price, large: price, extra_large: price } },
          condition: { priced: false }, excludes: [], online: true, place: 10,
        },
      ],
    },
  }),
);
await good(
  api.POST("/v1/menu/publish", { params: { header: { ...seen(written), ...key() } }, body: { from: null, note: "" } }),
);

// --- the call, the customer, the car, what is found on it -----------------------------------------------------------
const call = await good(
  api.POST("/v1/enquiries", {
    params: { header: key() },
    body: { caller: { name: "Aoife Byrne", phone: "+353 20 910 0000" }, wish: "A wash before Saturday" },
  }),
);
same("the call is noted", call.state, "OPEN");
const customer = await good(
  api.POST("/v1/customers", {
    params: { header: key() },
    body: {
      kind: "PRIVATE", name: "Aoife Byrne", emails: ["aoife@example.com"], language: "en",
      consents: [{ kind: "MAIL", how: "at the desk" }],
    },
  }),
);
const vehicle = await good(
  api.POST("/v1/vehicles", {
    params: { header: key() },
    body: {
      customer_id: customer.id, registration: "231-D-10101", registration_country: "IE", make: "Corrigan",
      model: "Estate 2.0", size_class: "MEDIUM", paint_type: "METALLIC",
    },
  }),
);
const begun = await good(
  api.POST("/v1/inspections", {
    params: { header: key() },
    body: {
      vehicle_id: vehicle.id, odometer: 48210, soil_grade: 2, contamination_grade: 1,
      findings: [{ panel: "BONNET", kind: "SWIRLS", severity: "MINOR", note: "under the lamp" }],
    },
  }),
);
const inspection = await good(
  api.POST("/v1/inspections/{id}/complete", { params: { path: { id: begun.id }, header: seen(begun) } }),
);

// --- offered, sent, signed ------------------------------------------------------------------------------------------
const lines = [{ item: { service: "wash" } }];
const offer = await good(
  api.POST("/v1/quotes", {
    params: { header: key() },
    body: { vehicle_id: vehicle.id, draft: { inspection_id: inspection.id, lines } },
  }),
);
const at = { id: offer.id };
const sent = await good(api.POST("/v1/quotes/{id}/send", { params: { path: at, header: seen(offer) }, body: {} }));
if (!sent.latest.digest) throw new Error("what was sent has no digest");
const signed = await good(
  api.POST("/v1/quotes/{id}/sign-off", {
    params: { path: at, header: seen(sent) },
    body: { digest: sent.latest.digest, name: "Aoife Byrne", agreed: true, early_start: true },
  }),
);
same("the quote is signed", signed.latest.state, "SIGNED");

// --- planned, booked, done, handed over -----------------------------------------------------------------------------
const free = await good(api.GET("/v1/quotes/{id}/availability", { params: { path: at, query: { count: 1 } } }));
const time = free.times[0];
if (!time) throw new Error("there is no free time");
const booking = await good(
  api.POST("/v1/bookings", {
    params: { header: key() },
    body: { quote_id: offer.id, bay_id: time.bay_id, start: time.start, hold: false, note: "" },
  }),
);
const place = { id: booking.id };
const here = await good(
  api.POST("/v1/bookings/{id}/arrive", { params: { path: place, header: { ...seen(booking), ...key() } } }),
);
const jobs = await good(api.GET("/v1/jobs", {}));
const head = jobs.items.find((job) => job.booking_id === booking.id);
if (!head) throw new Error("the car that came has no job");
const job = await good(api.GET("/v1/jobs/{id}", { params: { path: { id: head.id } } }));
for (const { code } of job.steps) {
  const path = { id: job.id, code };
  const step = await good(api.GET("/v1/jobs/{id}/steps/{code}", { params: { path } }));
  const running = await good(
    api.POST("/v1/jobs/{id}/steps/{code}/start", { params: { path, header: { ...seen(step), ...key() } }, body: {} }),
  );
  await good(
    api.POST("/v1/jobs/{id}/steps/{code}/finish", {
      params: { path, header: { ...seen(running), ...key() } },
      body: { used: [] },
    }),
  );
}
const ready = await good(
  api.POST("/v1/bookings/{id}/ready", { params: { path: place, header: { ...seen(here), ...key() } } }),
);
const gone = await good(
  api.POST("/v1/bookings/{id}/hand-over", {
    params: { path: place, header: { ...seen(ready), ...key() } },
    body: { received_by: "Aoife Byrne", odometer: 48215, aftercare: "Keep it dry.", note: "", checklist: [] },
  }),
);
same("the car is handed over", gone.state, "HANDED_OVER");

// --- invoiced and paid ----------------------------------------------------------------------------------------------
const bill = await good(api.POST("/v1/invoices", { params: { header: key() }, body: { quote_id: offer.id } }));
const issued = await good(
  api.POST("/v1/invoices/{id}/issue", { params: { path: { id: bill.id }, header: { ...seen(bill), ...key() } } }),
);
await good(
  api.POST("/v1/payments", {
    params: { header: key() },
    body: { customer_id: customer.id, method: "TRANSFER", amount: issued.payable, invoice_ids: [issued.id] },
  }),
);
const paid = await good(api.GET("/v1/invoices/{id}", { params: { path: { id: issued.id } } }));
same("the invoice is paid", [paid.state, paid.open], ["PAID", euro("0.00")]);
