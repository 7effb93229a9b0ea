/** An output valve's leak to common beside the bias supply that it should go to. */
import { describe, expect, it } from "vitest";
import { told } from "../limits.ts";

const pair = ({
  leak = "gnd",
  sense = "10R",
  supply = true,
  other = "bias",
}: {
  leak?: string;
  sense?: string;
  supply?: boolean;
  other?: string;
}) => `source B1 350V { plus: HT, minus: gnd }
${supply ? "source B2 45V 100R { plus: gnd, minus: bn }\nbn -- resistor R9 1k 1W -- bias\ngnd -- capacitor C9 47u 100V electrolytic -- bias" : ""}
valve V1 KT88 { plate: pA, screen: sA, grid: gA, cathode: kA }
valve V2 KT88 { plate: pB, screen: sB, grid: gB, cathode: kB }
HT -- resistor R5 220R 5W -- sA
HT -- resistor R6 220R 5W -- sB
gA -- resistor R1 82k 0.5W -- ${leak}
gB -- resistor R2 82k 0.5W -- ${other}
kA -- resistor R3 ${sense} 20W wirewound -- gnd
kB -- resistor R4 ${other === "gnd" ? sense : "10R"} 20W wirewound -- gnd
output-transformer T1 60W {
  plates  5k 150R { pA HT pB }
  speaker 8R 0.5R { spk gnd }
}
spk -- speaker LS1 8R 80W -- gnd
`;
const of = (text: string, on: string) =>
  told(text, "valve/bias-missing", on).map(({ message, severity }) => `${severity} ${message}`);

describe("valve/bias-missing: the bias is elsewhere", () => {
  it("names the leak to common, and the partner that has the bias", () => {
    const [found, ...more] = of(pair({}), "V1");
    expect(more).toEqual([]);
    expect(found).toMatch(/^error V1 runs without bias: its grid stands only [\d.]+ V below/);
    expect(found).toMatch(/leak R1 goes to common, where V2's has its bias \(-45 V, from bias\)/);
    expect(of(pair({}), "V2")).toEqual([]);
  });

  it("names the file's bias supply where neither has it", () => {
    const [found] = of(pair({ other: "gnd" }), "V1");
    expect(found).toMatch(/leak R1 goes to common, and not to the bias supply at bn \(-45 V\)/);
  });

  it("is the same without any resistor in the cathode's lead", () => {
    const text = pair({})
      .replace(/kA -- resistor R3.*\n/, "")
      .replace("cathode: kA", "cathode: gnd");
    expect(of(text, "V1")[0]).toMatch(/where V2's has its bias/);
  });

  it("says nothing of a bias elsewhere where there is none, nor where the cathode's resistor is one that biases", () => {
    expect(of(pair({ supply: false, other: "gnd" }), "V1").join()).not.toMatch(/bias supply at|has its bias/);
    // Cathode bias on one side: odd, and no missing bias.
    expect(of(pair({ sense: "470R" }), "V1")).toEqual([]);
    expect(of(pair({ leak: "bias" }), "V1")).toEqual([]);
  });

  it("keeps quiet while the plate is within its watts", () => {
    expect(of(pair({}).replace("B1 350V", "B1 120V"), "V1")).toEqual([]);
  });
});
