/** The amplifier that costs are told for: about 150 parts, a sample of ours with more channels. */
import { readFileSync } from "node:fs";

const brolga = readFileSync(new URL("../../samples/brolga-35.ampnet", import.meta.url), "utf8");

/** Two gain stages behind a rail of their own, hung on the sample's third. */
function channel(number: number): string {
  const n = (name: string) => `${name}x${number}`;
  return `
# channel ${number}
HT3 -- resistor ${n("RD")} 22k 1W metal-film -- ${n("rail")}
${n("rail")} -- capacitor ${n("CD")} 16u 500V electrolytic -- gnd
jack ${n("J")} { tip: ${n("in")}, sleeve: gnd }
${n("in")} -- resistor ${n("RI")} 1M 0.5W metal-film -- gnd
${n("in")} -- resistor ${n("RG")} 33k 0.5W metal-film -- ${n("g")}
valve ${n("V")} ECC83 {
  a { plate: ${n("p")}, grid: ${n("g")}, cathode: ${n("k")} }
  b { plate: ${n("q")}, grid: ${n("h")}, cathode: ${n("m")} }
  heater: h1 h2
}
${n("rail")} -- resistor ${n("RP")} 100k 1W metal-film -- ${n("p")}
${n("k")} -- resistor ${n("RK")} 1k5 0.5W metal-film -- gnd
${n("k")} -- capacitor ${n("CK")} 25u 25V electrolytic -- gnd
${n("p")} -- capacitor ${n("CC")} 22n 630V film -- ${n("vol")}
pot ${n("RV")} 500k audio 0.25W { top: ${n("vol")}, wiper: ${n("h")}, bottom: gnd }
${n("rail")} -- resistor ${n("RQ")} 100k 1W metal-film -- ${n("q")}
${n("m")} -- resistor ${n("RM")} 1k5 0.5W metal-film -- gnd
${n("q")} -- capacitor ${n("CO")} 22n 630V film -- ${n("out")}
${n("out")} -- resistor ${n("RO")} 1M 0.5W metal-film -- gP
`;
}

/** @param channels added to the sample's own; six make 150 parts */
export function amplifier(channels = 6): string {
  // Its heater winding feeds them all.
  return (
    brolga.replace("6.3V 3A 0.03R", "6.3V 5A 0.02R") +
    Array.from({ length: channels }, (_, k) => channel(k + 1)).join("")
  );
}
