// The program as it ships, on a copy of the demo's data, and its desk as a client of the API.
import { spawn } from "node:child_process";
import { randomUUID } from "node:crypto";
import { once } from "node:events";
import { closeSync, mkdtempSync, openSync, readFileSync, rmSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { setTimeout as pause } from "node:timers/promises";

export const OWNER = { email: "orla@slackwater.example", password: "seven soft mitts drying" };

async function freePort() {
  const probe = createServer().listen(0, "127.0.0.1");
  await once(probe, "listening");
  const { port } = probe.address();
  probe.close();
  await once(probe, "close");
  return port;
}

export class Program {
  // Lets the demo live through its weeks, then serves what it kept, with the log as it is by default.
  static async start(path) {
    const program = await Program.#made(path);
    const kept = join(program.folder, "demo");
    program.#run("demo.log", ["demo", ...program.#listen(), "--folder", kept]);
    await program.#ready("the demo was not ready");
    await program.#end();
    await program.#serve(join(kept, "demo.db"), kept);
    program.token = (await program.ask("POST", "/v1/sessions", OWNER)).access_token;
    return program;
  }

  // A service with an empty database; its `code` is that of the first setup.
  static async empty(path) {
    const program = await Program.#made(path);
    await program.#serve(join(program.folder, "empty.db"), program.folder);
    [program.code] = program.text("serve.log").match(/[A-Z2-9]{5}(-[A-Z2-9]{5}){3}/) ?? [];
    return program;
  }

  // A program that does not run yet, with a folder and an address of its own.
  static async #made(path) {
    const program = new Program();
    program.path = path;
    program.folder = mkdtempSync(join(tmpdir(), "baywright-web-"));
    program.base = `http://127.0.0.1:${await freePort()}`;
    return program;
  }

  #listen() {
    return ["--listen", this.base.slice("http://".length)];
  }

  async #serve(database, data) {
    this.#run("serve.log", ["serve", ...this.#listen(), "--database", `sqlite:${database}`, "--data", data,
      "--public-url", this.base, "--rate", "1000000"]);
    await this.#ready("the program was not ready");
  }

  #ready(otherwise) {
    return this.#until(() => fetch(`${this.base}/readyz`).then((answer) => answer.ok, () => false), otherwise);
  }

  #run(log, flags) {
    const file = openSync(join(this.folder, log), "a");
    this.process = spawn(this.path, flags, { cwd: this.folder, stdio: ["ignore", file, file] });
    closeSync(file);
  }

  async #until(done, otherwise) {
    for (let tries = 0; tries < 1200; tries++) {
      if (await done()) return;
      if (this.process.exitCode !== null) break;
      await pause(100);
    }
    throw new Error(`${otherwise}: ${this.text("demo.log")}${this.text("serve.log")}`);
  }

  async #end() {
    if (this.process.exitCode !== null) return;
    this.process.kill("SIGTERM");
    await once(this.process, "exit");
  }

  text(log) {
    try { return readFileSync(join(this.folder, log), "utf8"); } catch { return ""; }
  }

  async stop() {
    await this.#end();
    rmSync(this.folder, { recursive: true });
  }

  // One request of the desk; gives the answer's body.
  async ask(method, path, body, version, type = "application/json") {
    const headers = { "idempotency-key": randomUUID() };
    if (this.token) headers.authorization = `Bearer ${this.token}`;
    if (version) headers["if-match"] = `"${version}"`;
    if (body !== undefined) headers["content-type"] = type;
    const text = type === "application/json" && body !== undefined ? JSON.stringify(body) : body;
    const answer = await fetch(this.base + path, { method, headers, body: text });
    if (!answer.ok) throw new Error(`${method} ${path}: ${answer.status} ${await answer.text()}`);
    return answer.json();
  }

  // A car with one photographed finding; gives vehicle and inspection.
  async inspectedCar(picture) {
    const photo = await this.ask("POST", "/v1/photos", picture, undefined, "image/png");
    const customer = await this.ask("POST", "/v1/customers", {
      kind: "PRIVATE", name: "Fionnuala Ní Mhurchadha-Brennan of the Long Strand Road", emails: ["fionnuala@example.com"],
    });
    const vehicle = await this.ask("POST", "/v1/vehicles", {
      customer_id: customer.id, make: "Corrigan", model: "Estate 2.0", colour: "dark blue", registration: "231-D-90909",
      size_class: "MEDIUM", paint_type: "METALLIC", powertrain: "HYBRID",
    });
    const looked = await this.ask("POST", "/v1/inspections", {
      vehicle_id: vehicle.id, soil_grade: 2, contamination_grade: 1, photo_ids: [photo.id],
      findings: [{ panel: "BONNET", kind: "SWIRLS", severity: "MODERATE", note: "under the lamp", photo_ids: [photo.id] }],
      beyond_repair: "The stone chip in the windscreen stays.",
    });
    const inspection = await this.ask("POST", `/v1/inspections/${looked.id}/complete`, {}, looked.version);
    return { vehicle, inspection };
  }

  // A new car that was begun at the desk: a call, a car, a walk-round with one finding, and a draft of a quote; gives the
  // enquiry.
  async newCar() {
    const customer = await this.ask("POST", "/v1/customers", {
      kind: "PRIVATE", name: "Bartholomew Featherstonehaugh-Mac Giolla Phádraig", phones: ["+353 20 910 0777"],
    });
    const vehicle = await this.ask("POST", "/v1/vehicles", {
      customer_id: customer.id, make: "Corrigan", model: "Estate 2.0", registration: "231-D-80808", size_class: "LARGE",
    });
    const enquiry = await this.ask("POST", "/v1/enquiries", {
      customer_id: customer.id, vehicle_id: vehicle.id, wish: "Swirl marks out before it is sold, and the seats cleaned.",
    });
    await this.ask("POST", "/v1/inspections", {
      vehicle_id: vehicle.id, soil_grade: 2, contamination_grade: 1,
      findings: [{ panel: "BONNET", kind: "SWIRLS", severity: "MODERATE", note: "under the lamp" }],
    });
    const lines = [{ item: { service: "maintenance-wash" } }];
    const quote = await this.ask("POST", "/v1/quotes", { vehicle_id: vehicle.id, draft: { condition: "FAIR", lines } });
    return this.ask("POST", `/v1/enquiries/${enquiry.id}/quoted`, { quote_id: quote.id }, enquiry.version);
  }

  // A quote that is with its customer: one service, two things to tick and then those services; gives the quote and the
  // page's address.
  async sentQuote({ vehicle, inspection }, method = "LINK", services = []) {
    const typed = (name, amount) =>
      ({ item: { custom: { name, price: { amount, currency: "EUR" } } }, required: false });
    const draft = {
      inspection_id: inspection.id, notes: "Bring both keys, please.",
      lines: [{ item: { service: "maintenance-wash" } }, typed("Leather balm", "40.00"), typed("Engine bay", "65.50"),
        ...services.map((service) => ({ item: { service }, required: false }))],
    };
    const written = await this.ask("POST", "/v1/quotes", { vehicle_id: vehicle.id, draft });
    const quote = await this.ask("POST", `/v1/quotes/${written.id}/send`, { by_mail: false }, written.version);
    const { url } = await this.ask("POST", `/v1/quotes/${quote.id}/links`,
      method === "LINK" ? { method, contact: "+353 20 910 0000" } : { method });
    const total = (extra) => {
      const required = Number(quote.latest.document.required_totals.payable.amount);
      return `EUR ${(required + extra).toLocaleString("en", { minimumFractionDigits: 2, maximumFractionDigits: 2 })}`;
    };
    return { quote, url, total };
  }

  async signoff(quote) {
    const { latest } = await this.ask("GET", `/v1/quotes/${quote.id}`);
    return { state: latest.state, ...latest.signoff, evidence: latest.signoff && JSON.parse(latest.signoff.evidence) };
  }
}
