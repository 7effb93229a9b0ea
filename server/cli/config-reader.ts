/** What reads configurations, as one bundle. */
export { Configurations } from "../config/resolve.ts";
export { jsonSchema } from "../config/schema.ts";
