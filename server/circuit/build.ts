export { buildCircuit, type Built } from "./interim/build.ts";
