// A studio as its owner sets it up, with the client that was generated from the API document: shop, people, menu.
import { randomUUID } from "node:crypto";
import createClient from "openapi-fetch";
import type { components, paths } from "./schema.js";

export type Schemas = components["schemas"];

export const key = () => ({ "Idempotency-Key": randomUUID() });
export const seen = (record: { version: number }) => ({ "If-Match": `"${record.version}"` });
/** For a change that has an effect outside its record: its version, and a key. */
export const once = (record: { version: number }) => ({ ...seen(record), ...key() });
export const euro = (amount: string) => ({ amount, currency: "EUR" as const });

/** The answer's body, or the problem as an error. */
export async function good<T>(answer: Promise<{ data?: T; error?: unknown; response: Response }>) {
  const { data, error, response } = await answer;
  if (!response.ok || data === undefined || data === null)
    throw new Error(`${response.url}: ${response.status} ${JSON.stringify(error)}`);
  return data as NonNullable<T>;
}

export function same(what: string, found: unknown, wanted: unknown) {
  if (JSON.stringify(found) !== JSON.stringify(wanted)) throw new Error(`${what}: ${JSON.stringify(found)}`);
  console.log(`ok: ${what}`);
}

/** What is there, or an error that names what is missing. */
export function there<T>(what: string, value: T | null | undefined): T {
  if (value === undefined || value === null) throw new Error(`there is no ${what}`);
  return value;
}

/** A client of somebody who is signed in. */
export function signedIn(base: string, session: Schemas["SessionView"]) {
  // Several words of a filter go into one parameter, with commas between them.
  const querySerializer = { array: { style: "form", explode: false } } as const;
  const api = createClient<paths>({ baseUrl: base, querySerializer });
  api.use({
    onRequest({ request }) {
      request.headers.set("Authorization", `Bearer ${session.access_token}`);
      return request;
    },
  });
  return api;
}
export type Api = ReturnType<typeof signedIn>;

const days = ["MONDAY", "TUESDAY", "WEDNESDAY", "THURSDAY", "FRIDAY", "SATURDAY", "SUNDAY"] as const;
const always = days.map((weekday) => ({ weekday, from: "00:00", until: "24:00" }));
const password = "thirteen quiet buckets of rain";

/** The first shop and its owner, by the code that the program printed. */
async function founded(base: string, code: string) {
  const owner = { name: "Orla Finn", email: "orla@example.com", password };
  const shop = { name: "Harbour Detailing", currency: "EUR", zone: "Europe/Dublin", tax_percent: "23" } as const;
  await good(createClient<paths>({ baseUrl: base }).POST("/v1/setup", { body: { code, ...shop, owner } }));
  const sign = { email: owner.email, password };
  return signedIn(base, await good(createClient<paths>({ baseUrl: base }).POST("/v1/sessions", { body: sign })));
}

/** Address, terms, rates, a second tax, a bay, opening hours. */
async function furnished(owner: Api) {
  const shop = await good(owner.GET("/v1/shop", {}));
  const { id, version, currency, created_at, updated_at, ...known } = shop;
  const address = { street: "4 Harbour Row", city: "Cork", postcode: null, country: "IE" } as const;
  // A call that somebody notes is enough for a change of up to 500 euro.
  const terms = { ...known.terms, call_tolerance: euro("500.00"), payment_days: 14 };
  const changed = await good(
    owner.PUT("/v1/shop", { params: { header: seen(shop) }, body: { ...known, address, terms } }),
  );
  same("the shop has its terms", [changed.terms.call_tolerance, changed.address.city], [euro("500.00"), "Cork"]);
  const { version: rated, updated_at: _, ...rates } = await good(owner.GET("/v1/rates", {}));
  const gross = { ...rates, private_prices: "GROSS", tax_basis: "CATEGORY" } as const;
  await good(owner.PUT("/v1/rates", { params: { header: seen({ version: rated }) }, body: gross }));
  await good(
    owner.POST("/v1/tax-categories", {
      params: { header: key() },
      body: { code: "reduced", name: "Reduced", category: "S", rates: [{ from: "2020-01-01", percent: "13.5" }] },
    }),
  );
  await good(owner.POST("/v1/bays", { params: { header: key() }, body: { name: "Bay 1", features: ["cover"] } }));
  const hours = await good(owner.GET("/v1/opening-hours", {}));
  await good(owner.PUT("/v1/opening-hours", { params: { header: seen(hours) }, body: { hours: always } }));
}

/** Somebody who got an invite and chose a password. */
async function joined(base: string, owner: Api, name: string, role: Schemas["PersonBody"]["role"]) {
  const works = role === "TECHNICIAN" ? { skills: ["polishing"], shifts: always } : {};
  const email = `${role.toLowerCase()}@example.com`;
  const person = await good(
    owner.POST("/v1/people", { params: { header: key() }, body: { name, email, role, ...works } }),
  );
  const invite = await good(owner.POST("/v1/people/{id}/invite", { params: { path: { id: person.id } } }));
  const accept = { token: invite.token, password };
  const session = await good(
    createClient<paths>({ baseUrl: base }).POST("/v1/invites/accept", { body: accept }),
  );
  same(`${name} is signed in`, [session.me.role, session.me.person], [role, person.id]);
  return { api: signedIn(base, session), id: person.id };
}

function step(code: string, stage: number, minutes: number, after: string[]): Schemas["MenuStep"] {
  const doses = code === "rinse"
    ? [{ product: "shampoo", basis: "COUNT" as const, units: "1", rate: "1000", by_size: false }] : [];
  return {
    code, name: `Step ${code}`, stage, base_minutes: minutes, by_size: true, by_condition: true, two_hands: null,
    skills: code === "machine" ? ["polishing"] : [], bay_features: [], wait: null, split_piece_minutes: null, doses,
    hazards: [], own_cautions: [], after,
    setup: { area: "DRY", side: "OUTSIDE", zone: null, tool: null, masked: false, cleanliness: "CLEAN" },
  };
}

function service(code: string, position: number, steps: string[], price: string): Schemas["MenuService"] {
  const one = euro(price);
  return {
    code, name: `Service ${code}`, summary: "", tax: "standard", steps: steps.map((step) => ({ step })),
    price: { kind: "FIXED", amounts: { small: one, medium: one, large: one, extra_large: one } },
    condition: { priced: false }, excludes: [], online: true, position,
  };
}

/** A product, three steps and two services, in force. */
async function published(owner: Api) {
  const draft = await good(owner.GET("/v1/menu/draft", {}));
  const written = await good(
    owner.PUT("/v1/menu/draft", {
      params: { header: seen(draft) },
      body: {
        checkpoints: [],
        packages: [],
        products: [
          {
            code: "shampoo", name: "pH-neutral shampoo", unit: "MILLILITRE", mix: "50 ml in 10 l",
            price: euro("14.00"), chemistry: ["NEUTRAL"], never_with: [], dwell_seconds: 30,
            hazards: ["SKIN_AND_EYES"], own_cautions: [],
          },
        ],
        steps: [
          step("rinse", 10, 45, []), step("machine", 20, 60, ["rinse"]), step("final", 90, 15, ["rinse", "machine"]),
        ],
        services: [
          service("wash", 10, ["rinse", "final"], "80.00"),
          service("polish", 20, ["rinse", "machine", "final"], "250.00"),
        ],
      },
    }),
  );
  await good(
    owner.POST("/v1/menu/publish", { params: { header: once(written) }, body: { from: null, note: "" } }),
  );
  const menu = await good(owner.GET("/v1/menu", {}));
  same("the menu is in force", menu.menu.services.map((service) => service.code), ["wash", "polish"]);
}

/** Everything that a studio has before its first call. */
export async function opened(base: string, code: string) {
  const owner = await founded(base, code);
  await furnished(owner);
  await published(owner);
  return {
    desk: (await joined(base, owner, "Robin Quill", "DESK")).api,
    accountant: (await joined(base, owner, "Una Tarr", "ACCOUNTANT")).api,
    technician: await joined(base, owner, "Sean Walsh", "TECHNICIAN"),
  };
}
