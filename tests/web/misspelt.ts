// Must not compile: what the generated types are for.
import createClient from "openapi-fetch";
import type { paths } from "./schema.js";

const api = createClient<paths>({ baseUrl: "http://127.0.0.1" });
await api.POST("/v1/sessions", { body: { email: "aoife@example.com", passwort: "thirteen quiet buckets" } });
