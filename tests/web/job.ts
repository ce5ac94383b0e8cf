// The main job with a client that was generated from the API document: an empty program is set up, and one car taken
// from the first call to the paid invoice. Nothing here writes a request by hand; a misspelt field does not compile.
// Usage: node out/job.js ADDRESS SETUP-CODE PICTURE. tests/client/job.py is the same journey in Python.
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { setTimeout } from "node:timers/promises";
import { type Schemas, euro, good, key, once, opened, same, seen, there } from "./studio.js";

const [base, code, picture] = process.argv.slice(2);
if (!base || !code || !picture) throw new Error("usage: job.js ADDRESS SETUP-CODE PICTURE");

const { desk, accountant, technician } = await opened(base, code);
const crew = technician.api;

/** Waits until a mail about that record is sent, and gives it. */
async function mailed(about_id: string, kind: string) {
  for (let turn = 0; turn < 100; turn += 1) {
    const sent = await good(desk.GET("/v1/messages", { params: { query: { about_id, state: ["SENT"] } } }));
    const mail = sent.items.find((message) => message.kind === kind);
    if (mail) return good(desk.GET("/v1/messages/{id}", { params: { path: { id: mail.id } } }));
    await setTimeout(200);
  }
  throw new Error(`no mail of the kind ${kind} was sent`);
}

// --- the call, the customer, the car, what is found on it -----------------------------------------------------------
const call = await good(
  desk.POST("/v1/enquiries", {
    params: { header: key() },
    body: {
      caller: { name: "Aoife Byrne", phone: "+353 20 910 0000", email: "aoife@example.com", may_mail: true },
      vehicle: "a silver estate", wish: "A wash before Saturday",
    },
  }),
);
same("the call is noted", call.state, "OPEN");
const known = await good(
  desk.POST("/v1/enquiries/{id}/add-customer", {
    params: { path: { id: call.id }, header: once(call) },
    body: { kind: "PRIVATE" },
  }),
);
const customer = await good(
  desk.GET("/v1/customers/{id}", { params: { path: { id: there("customer", known.customer_id) } } }),
);
same("the caller is a customer", [customer.name, customer.emails], ["Aoife Byrne", ["aoife@example.com"]]);
const vehicle = await good(
  desk.POST("/v1/vehicles", {
    params: { header: key() },
    body: {
      customer_id: customer.id, registration: "231-D-10101", registration_country: "IE", make: "Corrigan",
      model: "Estate 2.0", year: 2023, size_class: "MEDIUM", paint_type: "METALLIC",
    },
  }),
);
const photo = await good(
  crew.POST("/v1/photos", {
    params: { header: key() },
    headers: { "Content-Type": "image/png" },
    // The generated types call every file a string (openapi-typescript 7); what is sent are the bytes.
    body: readFileSync(picture) as unknown as string,
    bodySerializer: (bytes) => bytes,
  }),
);
const kept = await good(
  crew.GET("/v1/photos/{id}", { params: { path: { id: photo.id } }, parseAs: "arrayBuffer" }),
);
same("the photograph has its digest", createHash("sha256").update(Buffer.from(kept)).digest("hex"), photo.digest);

/** An inspection of the car with one finding, completed. */
async function looked(stage: Schemas["InspectionBody"]["stage"], finding: Schemas["FindingBody"]) {
  const begun = await good(
    crew.POST("/v1/inspections", {
      params: { header: key() },
      body: {
        vehicle_id: vehicle.id, stage, odometer: 48210, soil_grade: 2, contamination_grade: 1, findings: [finding],
        readings: [{ panel: finding.panel, micrometres: [120, 118, 125] }],
      },
    }),
  );
  return good(
    crew.POST("/v1/inspections/{id}/complete", { params: { path: { id: begun.id }, header: seen(begun) } }),
  );
}
const before = await looked("BEFORE_WORK", {
  panel: "BONNET", kind: "SWIRLS", severity: "MINOR", note: "under the lamp", photo_ids: [photo.id],
});
same("the car is looked at", [before.state, before.findings[0]?.photo_ids], ["COMPLETED", [photo.id]]);

// --- offered, sent, signed ------------------------------------------------------------------------------------------
const draft = { inspection_id: before.id, lines: [{ item: { service: "wash" } }] };
const offer = await good(
  desk.POST("/v1/quotes", { params: { header: key() }, body: { vehicle_id: vehicle.id, draft } }),
);
same("the wash has its price", offer.latest.document?.required_totals?.payable, euro("80.00"));
const at = { id: offer.id };
const sent = await good(
  desk.POST("/v1/quotes/{id}/send", { params: { path: at, header: seen(offer) }, body: { by_mail: true } }),
);
const mail = await mailed(offer.id, "quote.sent");
same("the quote is mailed", [mail.to_email, mail.subject.includes(offer.number)], ["aoife@example.com", true]);
const quoted = await good(
  desk.POST("/v1/enquiries/{id}/quoted", {
    params: { path: { id: call.id }, header: seen(known) }, body: { quote_id: offer.id },
  }),
);
const yes = { name: "Aoife Byrne", agreed: true, early_start: true };
const signed = await good(
  desk.POST("/v1/quotes/{id}/sign-off", {
    params: { path: at, header: seen(sent) }, body: { ...yes, digest: there("digest", sent.latest.digest) },
  }),
);
same("the quote is signed", [signed.latest.state, signed.latest.signoff?.method], ["SIGNED", "PHONE"]);
const won = await good(
  desk.POST("/v1/enquiries/{id}/close", {
    params: { path: { id: call.id }, header: seen(quoted) }, body: { reason: "WON", note: null },
  }),
);
same("the call is closed", [won.state, won.quote_id], ["CLOSED", offer.id]);

// --- planned and booked ---------------------------------------------------------------------------------------------
const plan = await good(desk.GET("/v1/quotes/{id}/plan", { params: { path: at } }));
same("the plan is in order", plan.work.steps.map((step) => step.code), ["rinse", "final"]);
const from = new Date().toISOString();
const free = await good(
  desk.GET("/v1/quotes/{id}/availability", { params: { path: at, query: { from, count: 3 } } }),
);
const time = there("free time", free.times[0]);
const booking = await good(
  desk.POST("/v1/bookings", {
    params: { header: key() },
    body: { quote_id: offer.id, bay_id: time.bay_id, start: time.start, hold: false, note: "" },
  }),
);
same("the place is booked", [booking.state, booking.finish], ["BOOKED", time.finish]);
const place = { id: booking.id };

// --- done: every step is started and finished, and more work is agreed on between two of them -----------------------
const here = await good(
  crew.POST("/v1/bookings/{id}/arrive", {
    // The first free time may be on another day than this one.
    params: { path: place, header: once(booking), query: { confirm: "arrival-on-another-day" } },
  }),
);
same("the car is in its bay", here.state, "IN_BAY");
const jobs = await good(crew.GET("/v1/jobs", { params: { query: { mine: true, open: true } } }));
const { id } = there("job", jobs.items.find((job) => job.booking_id === booking.id));
const job = () => good(crew.GET("/v1/jobs/{id}", { params: { path: { id } } }));

/** Does a step, with a pause in it, and uses what the plan says. */
async function done(code: string) {
  const path = { id, code };
  const turn = (record: { version: number }) => ({ path, header: once(record) });
  const start = (from: { version: number }) =>
    good(crew.POST("/v1/jobs/{id}/steps/{code}/start", { params: turn(from), body: {} }));
  const step = await good(crew.GET("/v1/jobs/{id}/steps/{code}", { params: { path } }));
  const running = await start(step);
  const paused = await good(
    crew.POST("/v1/jobs/{id}/steps/{code}/stop", { params: turn(running), body: {} }),
  );
  const again = await start(paused);
  const used = step.products.map(({ product, amount }) => ({ product, amount }));
  const over = await good(
    crew.POST("/v1/jobs/{id}/steps/{code}/finish", { params: turn(again), body: { used } }),
  );
  same(
    `${code} is done, in two pieces of time`,
    [over.state, over.pieces.map((piece) => [piece.person_id, typeof piece.finish]), over.used.length],
    ["FINISHED", Array(2).fill([technician.id, "string"]), used.length],
  );
}
await done("rinse");

const clean = await looked("AFTER_WASH", { panel: "ROOF", kind: "SCRATCHES", severity: "MODERATE" });
const change = await good(
  desk.POST("/v1/quotes/{id}/variations", {
    params: { path: at, header: key() },
    body: {
      reason: "Scratches that dirt hid.", inspection_id: clean.id, lines: [{ item: { service: "polish" } }],
    },
  }),
);
const to = { id: change.id };
const asked = await good(
  desk.POST("/v1/variations/{id}/send", { params: { path: to, header: once(change) }, body: { by_mail: true } }),
);
const agreed = await good(
  desk.POST("/v1/variations/{id}/sign-off", {
    params: { path: to, header: once(asked) }, body: { ...yes, digest: there("digest", asked.digest) },
  }),
);
same("the variation is signed", [agreed.state, agreed.change], ["SIGNED", euro("250.00")]);
const open = (await job()).steps.filter((step) => step.state === "OPEN").map((step) => step.code);
same("its work joins the job", open, ["machine", "final"]);
for (const code of open) await done(code);

// --- handed over ----------------------------------------------------------------------------------------------------
const ready = await good(
  crew.POST("/v1/bookings/{id}/ready", {
    params: { path: place, header: once({ version: (await job()).booking_version }) },
  }),
);
const gone = await good(
  crew.POST("/v1/bookings/{id}/hand-over", {
    params: { path: place, header: once(ready) },
    body: {
      received_by: "Aoife Byrne", odometer: 48215, aftercare: "Keep it dry.", note: "",
      checklist: [{ what: "Keys", done: true }],
    },
  }),
);
same("the car is handed over", gone.state, "HANDED_OVER");
const handover = await good(crew.GET("/v1/bookings/{id}/hand-over", { params: { path: place } }));
same("what was said is kept", [handover.person_id, handover.odometer], [technician.id, 48215]);

// --- invoiced, mailed and paid --------------------------------------------------------------------------------------
const bill = await good(desk.POST("/v1/invoices", { params: { header: key() }, body: { quote_id: offer.id } }));
const { net, tax, payable } = bill.document.totals;
// 80.00 + 250.00 with 23 % of tax in it: 330.00 / 1.23 = 268.29 and 268.29 × 0.23 = 61.71, by hand.
same("the invoice has both", [net, tax, payable], [euro("268.29"), euro("61.71"), euro("330.00")]);
const issued = await good(
  desk.POST("/v1/invoices/{id}/issue", { params: { path: { id: bill.id }, header: once(bill) } }),
);
const path = { id: issued.id };
const sealed = await good(accountant.GET("/v1/invoices/{id}/sealed", { params: { path } }));
same("it is sealed under its number", [sealed.number, sealed.totals.payable], [issued.number, euro("330.00")]);
await good(desk.POST("/v1/invoices/{id}/send", { params: { path, header: once(issued) } }));
const letter = await mailed(issued.id, "invoice.sent");
same("the invoice is mailed", [letter.to_email, letter.attachments.length > 0], ["aoife@example.com", true]);
for (const [method, amount, state, left] of [
  ["CARD", "100.00", "PART_PAID", "230.00"],
  ["TRANSFER", "230.00", "PAID", "0.00"],
] as const) {
  await good(
    desk.POST("/v1/payments", {
      params: { header: key() },
      body: { customer_id: customer.id, method, amount: euro(amount), invoice_ids: [issued.id] },
    }),
  );
  const now = await good(accountant.GET("/v1/invoices/{id}", { params: { path } }));
  same(`${amount} came, the invoice is ${state}`, [now.state, now.open], [state, euro(left)]);
}
const account = await good(accountant.GET("/v1/customers/{id}/account", { params: { path: { id: customer.id } } }));
same("nothing is owed", [account.open, account.credit], [euro("0.00"), euro("0.00")]);
