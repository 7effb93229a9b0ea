/** Circuits made by hand, for tests of the physics alone. */
import type { Range } from "../../grammar/tree.ts";
import type {
  Circuit,
  Given,
  MainsSupply,
  Part,
  Place,
  SwitchPole,
  ValveSection,
} from "../../server/circuit/model.ts";

const range: Range = { start: 0, end: 0 };
const place: Place = { file: "test", range };
export const given = (value: number): Given => ({ value, origin: "file" });

type Nets = Readonly<Record<string, string | undefined>>;

export class Bench {
  private readonly names: string[] = [];
  private readonly byName = new Map<string, number>();
  readonly parts: Part[] = [];
  spread = 0;
  mains: MainsSupply = {
    given: false,
    hertz: 50,
    volts: { low: 216.2, nominal: 230, high: 253 },
    toleranceSource: "test",
  };

  net(name: string): number {
    let index = this.byName.get(name);
    if (index === undefined) {
      index = this.names.length;
      this.names.push(name);
      this.byName.set(name, index);
    }
    return index;
  }

  private part(kind: string, reference: string, terminals: Nets, facts: object): void {
    const map = new Map<string, number>();
    for (const [terminal, name] of Object.entries(terminals)) {
      if (name !== undefined) map.set(terminal, this.net(name));
    }
    this.parts.push({
      kind,
      reference,
      place,
      referencePlace: place,
      terminals: map,
      factPlaces: new Map(),
      terminalPlaces: new Map(),
      ...facts,
    } as unknown as Part);
  }

  resistor(reference: string, a: string, b: string, ohms: number, tolerance = 0.05): this {
    this.part("resistor", reference, { a, b }, { ohms: given(ohms), tolerance: given(tolerance) });
    return this;
  }
  pot(
    reference: string,
    nets: { top?: string; wiper?: string; bottom?: string },
    ohms: number,
    setting = 0.5,
  ): this {
    this.part("pot", reference, nets, { ohms: given(ohms), tolerance: given(0.2), setting: given(setting) });
    return this;
  }
  capacitor(reference: string, plus: string, minus: string, farads: number, polarised = false): this {
    const terminals = polarised ? { plus, minus } : { a: plus, b: minus };
    this.part("capacitor", reference, terminals, { farads: given(farads), tolerance: given(0.1), polarised });
    return this;
  }
  choke(reference: string, a: string, b: string, henries: number, ohms: number): this {
    this.part(
      "choke",
      reference,
      { a, b },
      { henries: given(henries), ohms: given(ohms), tolerance: given(0.1) },
    );
    return this;
  }
  source(reference: string, plus: string, minus: string, volts: number, ohms = 0): this {
    this.part("source", reference, { plus, minus }, { volts: given(volts), ohms: given(ohms) });
    return this;
  }
  diode(reference: string, anode: string, cathode: string): this {
    this.part("diode", reference, { anode, cathode }, {});
    return this;
  }
  zener(reference: string, anode: string, cathode: string, volts: number): this {
    this.part(
      "zener",
      reference,
      { anode, cathode },
      { volts: given(volts), ohms: given(20), tolerance: given(0.05) },
    );
    return this;
  }
  wire(reference: string, a: string, b: string): this {
    this.part("wire", reference, { a, b }, { cloth: false });
    return this;
  }
  fuse(reference: string, tip: string, ring: string): this {
    this.part("fuse", reference, { tip, ring }, { amps: given(0.5) });
    return this;
  }
  neon(reference: string, a: string, b: string): this {
    this.part("lamp", reference, { a, b }, { neon: true });
    return this;
  }
  switch(
    reference: string,
    duty: string,
    common: string,
    throws: Record<string, string>,
    positions: string[],
  ): this {
    const pole: SwitchPole = {
      name: "",
      common: this.net(common),
      throws: new Map(Object.entries(throws).map(([name, net]) => [name, this.net(net)])),
    };
    this.part("switch", reference, {}, { duty, poles: [pole], positions });
    return this;
  }
  valve(reference: string, type: string, sections: Record<string, Nets>, heater?: [string, string]): this {
    const list: ValveSection[] = Object.entries(sections).map(([name, nets]) => ({
      name,
      electrodes: new Map(
        Object.entries(nets)
          .filter((entry): entry is [string, string] => entry[1] !== undefined)
          .map(([electrode, net]) => [electrode, this.net(net)]),
      ),
      electrodePlaces: new Map(),
      place,
    }));
    this.part(
      "valve",
      reference,
      {},
      {
        typeWritten: type,
        type,
        sections: list,
        heater: heater && { nets: [this.net(heater[0]), this.net(heater[1])], place },
      },
    );
    return this;
  }
  outputTransformer(reference: string, plates: string[], resistance: number, speaker?: string[]): this {
    this.part(
      "output-transformer",
      reference,
      {},
      {
        plates: {
          place,
          nets: plates.map((name) => this.net(name)),
          netPlaces: plates.map(() => place),
          ohms: given(8000),
          resistance: given(resistance),
        },
        speaker: speaker && {
          place,
          nets: speaker.map((name) => this.net(name)),
          netPlaces: speaker.map(() => place),
          ohms: [15],
          resistance: given(0.5),
        },
      },
    );
    return this;
  }

  circuit(): Circuit {
    return {
      mains: this.mains,
      assumptions: {
        ambientCelsius: given(40),
        derate: new Map(),
        valveSpread: given(this.spread),
        other: new Map(),
      },
      nets: this.names.map((name, index) => ({ index, name, mentions: [] })),
      netByName: this.byName,
      ground: this.byName.get("gnd"),
      chassis: this.byName.get("chassis"),
      metals: [],
      parts: this.parts,
      partByReference: new Map(this.parts.map((part) => [part.reference, part])),
      measurements: [],
      waivers: [],
      problems: [],
      files: ["test"],
    };
  }
}
