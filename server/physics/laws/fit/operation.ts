/**
 * A published operation row as an output stage: what the sheet's test circuit was, so that the drive can be held
 * against the sheet's own zero-signal and maximum-signal figures.
 */
import type { PointFile } from "../../../facts/valves/file.ts";
import type { SectionLaw } from "../../device.ts";
import { LevelSolver } from "../../drive/level.ts";
import { port, type Stage, type StageBranch, type StageNode, type StageSection } from "../../drive/stage.ts";

/** As printed: of all valves of the row together. Screen currents are in the plate's where the two are tied or tapped. */
export interface Operation {
  readonly plateAmps: number;
  readonly screenAmps: number;
  readonly plateAmpsMax: number;
  readonly screenAmpsMax: number;
  readonly watts: number;
  readonly solved: boolean;
}

/** A winding is never quite without resistance; small against every published load. */
const LEAST_WINDING_OHMS = 1;

/** @returns undefined for a row that does not say enough to be set up (load, bias or supply missing). */
export function operationStage(row: PointFile, law: SectionLaw): Stage | undefined {
  const pushPull = row.mode === "push-pull";
  if (!pushPull && row.mode !== "single-ended") return undefined;
  const tied = row.connection === "triode-strapped" || row.connection === "tied";
  const tapped = row.connection === "ultra-linear";
  const bias = row.grid_V;
  const load = row.load_ohm;
  if (bias === undefined || load === undefined) return undefined;
  const selfBias = row.cathode_ohm !== undefined;
  const cathodeVolts = selfBias ? -bias : 0;
  // Electrode volts are to the cathode: the supply stands higher by the cathode's.
  const plateSupply =
    row.plate_supply_V ?? (row.plate_V === undefined ? undefined : row.plate_V + cathodeVolts);
  if (plateSupply === undefined) return undefined;
  const screenSupply =
    row.screen_supply_V ??
    (row.screen_dropper_ohm !== undefined && row.plate_supply_V !== undefined && row.screen_V === undefined
      ? row.plate_supply_V
      : row.screen_V === undefined
        ? plateSupply
        : row.screen_V + cathodeVolts);
  const valves = pushPull ? 2 : 1;
  // What the supply loses on its way to the plate, where a row gives both ends, is lost in the winding.
  let winding = LEAST_WINDING_OHMS;
  if (row.plate_supply_V !== undefined && row.plate_V !== undefined && row.plate_mA !== undefined) {
    const lost = row.plate_supply_V - row.plate_V - cathodeVolts;
    winding = Math.max(LEAST_WINDING_OHMS, lost / (row.plate_mA / 1000 / valves));
  }
  const shared = selfBias && row.cathode_ohm_shared_by !== 1 && pushPull;
  const cathodes = selfBias && pushPull && !shared ? 2 : 1;

  // Ports: plate supply, screen supply, grid bias, cathodes.
  const ports = 3 + cathodes;
  const portVolts = new Float64Array(ports);
  portVolts[0] = plateSupply;
  portVolts[1] = screenSupply;
  portVolts[2] = selfBias ? 0 : bias;
  const portOhms = new Float64Array(ports * ports);
  const portStart = Float64Array.from(portVolts);
  for (let c = 0; c < cathodes; c++) {
    portOhms[(3 + c) * ports + 3 + c] = selfBias ? (row.cathode_ohm as number) : 0;
    portStart[3 + c] = cathodeVolts;
  }

  const branches: StageBranch[] = [];
  const nodeVolts: number[] = [];
  const node = (volts: number): StageNode => nodeVolts.push(volts) - 1;
  const commonScreen =
    !tied && !tapped && row.screen_dropper_ohm !== undefined ? node(screenSupply * 0.95) : undefined;
  if (commonScreen !== undefined) {
    branches.push({
      from: port(1),
      to: commonScreen,
      siemens: 1 / (row.screen_dropper_ohm as number),
      turns: 0,
    });
  }
  const sections: StageSection[] = [];
  for (let v = 0; v < valves; v++) {
    const side = v === 0 ? 1 : -1;
    const plate = node(plateSupply);
    let screen: StageNode;
    if (tapped) {
      const tap = (row.screen_tap_pct ?? 40) / 100;
      const tapNode = node(plateSupply);
      branches.push({ from: port(0), to: tapNode, siemens: 1 / (tap * winding), turns: side * tap });
      branches.push({
        from: tapNode,
        to: plate,
        siemens: 1 / ((1 - tap) * winding),
        turns: side * (1 - tap),
      });
      screen = tapNode;
      if (row.screen_dropper_ohm !== undefined) {
        screen = node(plateSupply);
        branches.push({ from: tapNode, to: screen, siemens: 1 / row.screen_dropper_ohm, turns: 0 });
      }
    } else {
      branches.push({ from: port(0), to: plate, siemens: 1 / winding, turns: side });
      screen = tied ? plate : (commonScreen ?? port(1));
    }
    const cathode = port(3 + (cathodes === 2 ? v : 0));
    sections.push({ key: `V${v + 1}`, law, side, grid: port(2), plate, screen, cathode });
  }
  return {
    sections,
    branches,
    nodeCount: nodeVolts.length,
    nodeVolts: Float64Array.from(nodeVolts),
    loadOhms: pushPull ? load / 4 : load,
    delivered: 1,
    portVolts,
    portOhms,
    portAmps: new Float64Array(ports),
    portStart,
  };
}

/** The row's figures as the laws give them. */
export function operate(row: PointFile, law: SectionLaw): Operation | undefined {
  const stage = operationStage(row, law);
  if (!stage) return undefined;
  const solver = new LevelSolver(stage, 0.002);
  const together = row.connection !== "pentode" && row.connection !== "beam";
  const sum = (values: Float64Array) => values.reduce((a, b) => a + b, 0);
  const idle = solver.idle();
  const plate0 = sum(idle.cycle.plateAmps);
  const screen0 = sum(idle.cycle.screenAmps);
  const idleSolved = idle.solved;
  const full = solver.atOnset();
  const plate1 = sum(full.cycle.plateAmps);
  const screen1 = sum(full.cycle.screenAmps);
  return {
    plateAmps: together ? plate0 + screen0 : plate0,
    screenAmps: screen0,
    plateAmpsMax: together ? plate1 + screen1 : plate1,
    screenAmpsMax: screen1,
    watts: full.cycle.watts,
    solved: idleSolved && full.solved,
  };
}
