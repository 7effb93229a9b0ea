/**
 * A rectifier island's linear part, reduced once to its storage elements and the ports of its rectifying elements.
 *
 * Everything linear and static (winding resistance, cores, heaters, surge resistors) is eliminated by dense algebra, so that a
 * cycle is integrated on a handful of numbers. With X the capacitors' volts and chokes' amperes, U the inputs
 * (mains volts, 1, current driven into each boundary node, sources) and i the currents of the rectifying ports:
 *
 *     dX/dt = A X + B U + E i          port volts v = Vx X + Vu U - Z i
 *
 * Windings share their core's volts per turn algebraically (no magnetising current), so a reflected primary resistance
 * needs no approximation. Loops of capacitors are taken by a spanning forest, cut-sets of chokes by a leakage.
 */
import { solveDense } from "../linear/dense.ts";
import { copyOf, doubles, integers } from "../linear/slabs.ts";

/** Local node; -1 is the reference. */
export type LocalNode = number;

/** A conductance with an electromotive force in series: i = siemens * (v(a) - v(b) - turns*core - mains*vm - volts). */
export interface LinearBranch {
  readonly a: LocalNode;
  readonly b: LocalNode;
  readonly siemens: number;
  /** Core that it is wound on, and its turns (volts at one volt per turn). */
  readonly core?: number;
  readonly turns?: number;
  /** Part of the mains volts in series. */
  readonly mains?: number;
  readonly volts?: number;
}

export interface StoredCharge {
  readonly a: LocalNode;
  readonly b: LocalNode;
  readonly farads: number;
}

export interface StoredCurrent {
  readonly a: LocalNode;
  readonly b: LocalNode;
  readonly henries: number;
  readonly ohms: number;
}

export interface PortEnds {
  readonly anode: LocalNode;
  readonly cathode: LocalNode;
}

export interface LinearNetwork {
  readonly nodes: number;
  readonly cores: number;
  readonly branches: readonly LinearBranch[];
  readonly capacitors: readonly StoredCharge[];
  readonly chokes: readonly StoredCurrent[];
  readonly ports: readonly PortEnds[];
  /** Nodes into which a current is driven from outside. */
  readonly drives: readonly LocalNode[];
  /** Current sources into `a` and out of `b`, through a winding's turns where it is one: inputs after the drives. */
  readonly sources?: readonly CurrentSource[];
}

export interface CurrentSource {
  readonly a: LocalNode;
  readonly b: LocalNode;
  readonly core?: number;
  readonly turns?: number;
}

/** A quantity as a row over X, U and i. */
export interface Row {
  readonly x: Float64Array;
  readonly u: Float64Array;
  readonly i: Float64Array;
}

export interface Multiport {
  readonly nx: number;
  readonly nu: number;
  readonly np: number;
  /** Capacitors that are states of their own; the others follow from them. */
  readonly chargeStates: number;
  readonly A: Float64Array;
  readonly B: Float64Array;
  readonly E: Float64Array;
  readonly Vx: Float64Array;
  readonly Vu: Float64Array;
  readonly Z: Float64Array;
  /** Volts from a to b. */
  volts(a: LocalNode, b: LocalNode): Row;
  /** Volts per turn of a core. */
  core(core: number): Row;
  /** Current of a linear branch, a to b. */
  current(branch: LinearBranch): Row;
  /** Current of a choke, a to b. */
  chokeCurrent(choke: number): Row;
  /** Current of a capacitor, a to b. */
  capacitorCurrent(capacitor: number): Row;
}

/** Ties every node to the reference so weakly that no figure shows it; keeps the algebra regular for a node without a path. */
const nodeLeak = 1e-13;
/** The same for a core: part of the conductance that its windings show it. */
const coreLeak = 1e-10;

/** @throws never; a network that cannot be solved gives NaN, which the caller tells. */
export function reduce(network: LinearNetwork): Multiport {
  const { nodes, cores, branches, capacitors, chokes, ports, drives, sources = [] } = network;
  const forest = spanCapacitors(nodes, capacitors);
  const nc = forest.states;
  const nl = chokes.length;
  const nx = nc + nl;
  const nu = 2 + drives.length + sources.length;
  const np = ports.length;
  const nr = forest.roots;
  const nz = nr + cores;
  // A network row: coefficients over z (roots, cores), X, and the inputs.
  const columns = nx + nu + np;

  // K z = R, R over (X, U, i)
  const K = doubles(nz * nz);
  const R = doubles(nz * columns);
  // C dXc/dt = S z + T, T over (X, U, i)
  const S = doubles(nc * nz);
  const T = doubles(nc * columns);

  const qBuffer = doubles(nz);
  const pBuffer = doubles(nc);
  const ends = (a: LocalNode, b: LocalNode) => {
    qBuffer.fill(0);
    pBuffer.fill(0);
    forest.addNode(a, 1, qBuffer, pBuffer);
    forest.addNode(b, -1, qBuffer, pBuffer);
  };
  for (let r = 0; r < nr; r++) K[r * nz + r] += nodeLeak;
  for (const branch of branches) {
    ends(branch.a, branch.b);
    if (branch.core !== undefined) qBuffer[nr + branch.core] -= branch.turns ?? 0;
    const g = branch.siemens;
    const km = branch.mains ?? 0;
    const k1 = branch.volts ?? 0;
    for (let r = 0; r < nz; r++) {
      const gq = g * qBuffer[r];
      if (gq === 0) continue;
      for (let c = 0; c < nz; c++) K[r * nz + c] += gq * qBuffer[c];
      for (let c = 0; c < nc; c++) R[r * columns + c] -= gq * pBuffer[c];
      R[r * columns + nx] += gq * km;
      R[r * columns + nx + 1] += gq * k1;
    }
    for (let r = 0; r < nc; r++) {
      const gp = g * pBuffer[r];
      if (gp === 0) continue;
      for (let c = 0; c < nz; c++) S[r * nz + c] -= gp * qBuffer[c];
      for (let c = 0; c < nc; c++) T[r * columns + c] -= gp * pBuffer[c];
      T[r * columns + nx] += gp * km;
      T[r * columns + nx + 1] += gp * k1;
    }
  }
  for (let c = 0; c < cores; c++) {
    const d = (nr + c) * nz + nr + c;
    K[d] += K[d] * coreLeak + 1e-300;
  }
  const inject = (a: LocalNode, b: LocalNode, column: number, sign: number) => {
    ends(a, b);
    for (let r = 0; r < nr; r++) R[r * columns + column] -= sign * qBuffer[r];
    for (let r = 0; r < nc; r++) T[r * columns + column] -= sign * pBuffer[r];
  };
  chokes.forEach((choke, k) => {
    inject(choke.a, choke.b, nc + k, 1);
  });
  drives.forEach((node, k) => {
    inject(node, -1, nx + 2 + k, -1);
  });
  sources.forEach((source, k) => {
    const column = nx + 2 + drives.length + k;
    ends(source.a, source.b);
    if (source.core !== undefined) qBuffer[nr + source.core] -= source.turns ?? 0;
    for (let r = 0; r < nz; r++) R[r * columns + column] += qBuffer[r];
    for (let r = 0; r < nc; r++) T[r * columns + column] += pBuffer[r];
  });
  ports.forEach((port, k) => {
    inject(port.anode, port.cathode, nx + nu + k, 1);
  });

  solveDense(K, R, nz, columns); // R now holds z over (X, U, i)

  // Capacitance over the states, and its inverse applied to S z + T.
  const C = doubles(nc * nc);
  for (const capacitor of capacitors) {
    ends(capacitor.a, capacitor.b);
    for (let r = 0; r < nc; r++) {
      if (pBuffer[r] === 0) continue;
      for (let c = 0; c < nc; c++) C[r * nc + c] += capacitor.farads * pBuffer[r] * pBuffer[c];
    }
  }
  const D = copyOf(T);
  for (let r = 0; r < nc; r++) {
    for (let z = 0; z < nz; z++) {
      const s = S[r * nz + z];
      if (s === 0) continue;
      for (let c = 0; c < columns; c++) D[r * columns + c] += s * R[z * columns + c];
    }
  }
  solveDense(C, D, nc, columns);

  const rowOf = (q: Float64Array, p: Float64Array): Row => {
    const full = doubles(columns);
    for (let z = 0; z < nz; z++) {
      const s = q[z];
      if (s === 0) continue;
      for (let c = 0; c < columns; c++) full[c] += s * R[z * columns + c];
    }
    for (let c = 0; c < nc; c++) full[c] += p[c];
    return { x: copyOf(full, 0, nx), u: copyOf(full, nx, nx + nu), i: copyOf(full, nx + nu) };
  };
  const volts = (a: LocalNode, b: LocalNode) => {
    ends(a, b);
    return rowOf(qBuffer, pBuffer);
  };

  const A = doubles(nx * nx);
  const B = doubles(nx * nu);
  const E = doubles(nx * np);
  for (let r = 0; r < nc; r++) {
    for (let c = 0; c < nx; c++) A[r * nx + c] = D[r * columns + c];
    for (let c = 0; c < nu; c++) B[r * nu + c] = D[r * columns + nx + c];
    for (let c = 0; c < np; c++) E[r * np + c] = D[r * columns + nx + nu + c];
  }
  chokes.forEach((choke, k) => {
    const v = volts(choke.a, choke.b);
    const r = nc + k;
    for (let c = 0; c < nx; c++) A[r * nx + c] = v.x[c] / choke.henries;
    A[r * nx + r] -= choke.ohms / choke.henries;
    for (let c = 0; c < nu; c++) B[r * nu + c] = v.u[c] / choke.henries;
    for (let c = 0; c < np; c++) E[r * np + c] = v.i[c] / choke.henries;
  });
  const Vx = doubles(np * nx);
  const Vu = doubles(np * nu);
  const Z = doubles(np * np);
  ports.forEach((port, k) => {
    const v = volts(port.anode, port.cathode);
    Vx.set(v.x, k * nx);
    Vu.set(v.u, k * nu);
    for (let c = 0; c < np; c++) Z[k * np + c] = -v.i[c];
  });

  return {
    nx,
    nu,
    np,
    chargeStates: nc,
    A,
    B,
    E,
    Vx,
    Vu,
    Z,
    volts,
    core(core) {
      qBuffer.fill(0);
      pBuffer.fill(0);
      qBuffer[nr + core] = 1;
      return rowOf(qBuffer, pBuffer);
    },
    current(branch) {
      ends(branch.a, branch.b);
      if (branch.core !== undefined) qBuffer[nr + branch.core] -= branch.turns ?? 0;
      const row = rowOf(qBuffer, pBuffer);
      row.u[0] -= branch.mains ?? 0;
      row.u[1] -= branch.volts ?? 0;
      for (const part of [row.x, row.u, row.i])
        for (let c = 0; c < part.length; c++) part[c] *= branch.siemens;
      return row;
    },
    chokeCurrent(choke) {
      const x = doubles(nx);
      x[nc + choke] = 1;
      return { x, u: doubles(nu), i: doubles(np) };
    },
    capacitorCurrent(index) {
      const { a, b, farads } = capacitors[index];
      ends(a, b);
      const full = doubles(columns);
      for (let r = 0; r < nc; r++) {
        const s = farads * pBuffer[r];
        if (s === 0) continue;
        for (let c = 0; c < columns; c++) full[c] += s * D[r * columns + c];
      }
      return { x: copyOf(full, 0, nx), u: copyOf(full, nx, nx + nu), i: copyOf(full, nx + nu) };
    },
  };
}

interface Forest {
  /** Groups of nodes joined by capacitors that do not reach the reference. */
  readonly roots: number;
  readonly states: number;
  addNode(node: LocalNode, sign: number, q: Float64Array, p: Float64Array): void;
}

/** Spanning forest of the capacitors: a node's volts are its root's plus the volts of the tree's capacitors on the way. */
function spanCapacitors(nodes: number, capacitors: readonly StoredCharge[]): Forest {
  const at: { readonly capacitor: number; readonly other: LocalNode }[][] = Array.from(
    { length: nodes + 1 },
    () => [],
  );
  capacitors.forEach((capacitor, k) => {
    if (capacitor.a === capacitor.b) return;
    at[capacitor.a + 1].push({ capacitor: k, other: capacitor.b });
    at[capacitor.b + 1].push({ capacitor: k, other: capacitor.a });
  });
  const root = integers(nodes + 1).fill(-2);
  const path: (readonly { readonly state: number; readonly sign: number }[])[] = Array.from(
    { length: nodes + 1 },
    () => [],
  );
  let states = 0;
  let roots = 0;
  for (let start = 0; start <= nodes; start++) {
    if (root[start] !== -2) continue;
    root[start] = start === 0 ? -1 : roots++;
    const queue = [start];
    for (let head = 0; head < queue.length; head++) {
      const here = queue[head];
      for (const { capacitor, other } of at[here]) {
        const there = other + 1;
        if (root[there] !== -2) continue;
        root[there] = root[here];
        // The state is v(a) - v(b) of its capacitor.
        const sign = capacitors[capacitor].a === other ? 1 : -1;
        path[there] = [...path[here], { state: states, sign }];
        states++;
        queue.push(there);
      }
    }
  }
  return {
    roots,
    states,
    addNode(node, sign, q, p) {
      const k = node + 1;
      if (root[k] >= 0) q[root[k]] += sign;
      for (const step of path[k]) p[step.state] += sign * step.sign;
    },
  };
}
