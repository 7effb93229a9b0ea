/** Figures of valve practice that no sheet prints. SI units; each says where it is from. */

/** Volts that a cold cathode's grid may stand above it at switch-on before it arcs to it, in a direct-coupled follower. */
export const coldGrid = {
  volts: 60,
  /** Series resistance in the grid's lead that keeps an arc from doing harm. */
  seriesOhms: 100e3,
  source: "common practice: a clamp diode or neon from grid to cathode above some tens of volts",
} as const;

/** Idle currents of a push-pull pair may differ by this share of their mean. */
export const pairImbalance = {
  share: 0.1,
  source: "common practice: output pairs are matched within 10 %",
} as const;

/** A grid stopper of an output valve. */
export const gridStopper = {
  leastOhms: 470,
  usualOhms: 2200,
  /** More between a winding and a grid is a network of its own. */
  mostOhms: 10e3,
  /** Beside the leak a stopper is small: a tenth of the whole at most. */
  mostShare: 0.1,
  source: "common practice: 1 kΩ to 10 kΩ on the socket",
} as const;

/** Direct volts below which the arc of a fuse that blows goes out by itself. */
export const fuseArc = {
  leastVolts: 60,
  source: "common practice",
} as const;

/** A screen stopper of an output valve. */
export const screenStopper = {
  leastOhms: 47,
  usualOhms: 470,
  source: "common practice: 100 Ω to 1 kΩ on the socket",
} as const;

/** Time in which a stage should be back from an overload: to a tenth of the shift. */
export const blockingSeconds = {
  value: 0.25,
  source: "common practice: a quarter of a second is heard as a stutter",
} as const;

/** The same between earlier stages, past which nobody makes them on purpose. */
export const couplingSeconds = {
  value: 6,
  source: "common practice: 1 µF into 1 MΩ, the slowest that is met, takes 2.3 s to a tenth",
} as const;

/** Closer to its cathode than this a grid has no bias to speak of. */
export const leastBias = {
  powerVolts: 1,
  volts: 0.25,
  source: "grid current begins near -0.5 V in every receiving type",
} as const;

/** From here on a zener conducts forward, and more than leaks through it. */
export const zenerForward = {
  volts: 0.4,
  amps: 1e-4,
  source: "a silicon junction's forward drop, 0.6 V to 1 V; common practice: a zener is run backwards",
} as const;

/** What counts as a bias supply beside an output valve that has none. */
export const biasSupply = {
  leastVolts: 5,
  source: "common practice: the least that output valves of this trade are biased by is some 7 V",
} as const;

/** How little an output valve may dissipate without signal, as a share of its plate's watts. */
export const coldBias = {
  /** The sheets' own class B rows come down to a fifth (EL84, 300 V, 7.5 mA). */
  pushPullShare: 0.15,
  /** Class A rests near its full dissipation. */
  singleEndedShare: 0.25,
  /** No output valve's cathode has so much to common: a grid's leak has. */
  leakOhms: 22e3,
  /** And the grid beside it far less, where the two leads are exchanged. */
  exchangedShare: 0.1,
  /** With less than this share a valve is cut off, and not merely cold. */
  cutOffShare: 0.02,
  /** Plates of less than this belong to small valves. */
  leastPlateWatts: 5,
  /** With less on its plate the valve is not fed, which is another fault. */
  leastVolts: 100,
  leastScreenVolts: 50,
  /** Below this on the plate a valve that rests as it should dissipates less. */
  usualVolts: 250,
  source:
    "common practice: class AB rests at 50 to 70 % of the plate's watts; the lowest published class B rows at a fifth",
} as const;

/** Swing that a reservoir's ripple may have, peak to peak, as a share of its dc. */
export const ripple = {
  reservoirShare: 0.15,
  /** First stages' supply, peak to peak as a share of its dc. */
  firstStageShare: 0.001,
  /**
   * Supply of what governs a single-ended output valve's current, its screen or a triode's plate: peak to peak as a share of its
   * dc. The stage's full swing is some twice its dc, so this lies 40 dB and more below it.
   */
  singleEndedShare: 0.01,
  source: "common practice",
} as const;

/** Time to a touchable voltage after switch-off. */
export const discharge = {
  volts: 60,
  seconds: 60,
  /** Charge that may be touched: 45 µC between 60 V and 15 kV. */
  coulombs: 45e-6,
  burnJoules: 20,
  shockJoules: 0.35,
  source:
    "common practice: 60 V within a minute with the valves out (IEC 60065 9.1.1 for the 60 V and the 45 µC, from memory)",
} as const;

/** Loudspeaker load over the tap it hangs on. */
export const loadRatio = {
  least: 0.5,
  most: 2,
  /** Within this of the tap, either way, nothing is said. */
  near: 1.35,
  source: "common practice: a mismatch of 2:1 is tolerated",
} as const;

/** When a heater counts as switched off in standby. */
export const standbyHeaters = {
  leastVolts: 0.5,
  coldShare: 0.2,
  source: "common practice: the heaters stay lit in standby",
} as const;

/** How far an output transformer's primary may lie outside all loads that its valves' sheets work into. */
export const primaryRatio = {
  factor: 3,
  source:
    "common practice: a mismatch of 2:1 is tolerated, and one type's published loads lie within another 2:1; past 3:1 nobody designs",
} as const;

/** Largest resistance across a secondary that still loads it when the loudspeaker is pulled. */
export const safetyLoad = { ohms: 1000, source: "common practice: 100 Ω to 470 Ω, 5 W to 10 W" } as const;

/** Peak plate volts under drive over the HT, for a stage with its load on. */
export const platePeak = {
  ratio: 2.05,
  source: "common practice: about twice the HT with its load on",
} as const;

/** A choke-input filter holds its volts only while the choke carries current all through the cycle. */
export const criticalInductance = {
  source:
    "L critical = R / (6π f), f the mains frequency, for a full-wave rectifier (Radiotron Designer's Handbook)",
} as const;

/** Published rectifier ratings presume the reservoirs that were sold: the next standard value above is passed with a remark. */
export const reservoirSlack = { share: 1.25, source: "common practice: 22 µF for 20, 47 µF for 40" } as const;

/** How far a computed screen current at full signal may be from the published one: less than this past a limit is a remark. */
export const drivenScreen = {
  share: 0.15,
  source:
    "what the valve laws are held to at published full-signal rows (15 %), driven further than the sheets do",
} as const;

/** Ratings of transformers and windings are round figures: this much over is not told as a breach. */
export const roundRating = {
  share: 1.03,
  source: "common practice: ratings are given to two figures",
} as const;

/** Music draws this much less than the sine that full drive is computed with. */
export const musicDraw = { share: 1.25, source: "common practice" } as const;

/** A valve whose plate is rated for less is a small one, which needs no load to save its transformer. */
export const smallValve = { watts: 5, source: "common practice" } as const;

/** A resistor or choke in a plate's lead against parasitic oscillation: a stopper, not a load. */
export const plateStopper = { mostOhms: 1000, source: "common practice: 10 Ω to 470 Ω" } as const;

/** Between plate and screen: the pentode works as a triode. */
export const triodeStrap = {
  mostOhms: 2200,
  usualOhms: 220,
  source: "common practice: 100 Ω to 470 Ω",
} as const;

/** Volts of a suppressor above its cathode. */
export const suppressorVolts = {
  most: 60,
  source:
    "every receiving and output pentode's sheet has its suppressor at the cathode; some tens of volts positive are met in transmitters (from memory)",
} as const;

/** A cathode resistor that is there to be measured across. */
export const cathodeSense = { mostOhms: 15, source: "common practice: 1 Ω or 10 Ω" } as const;

/** A leak that biases a small valve by its own grid current. */
export const gridLeakBias = {
  leastOhms: 2e6,
  source: "ECC83 sheets give 10 MΩ to 22 MΩ for it (from memory)",
} as const;

/** A bias that comes nearer to zero by less than either of these is kept. */
export const keptBias = {
  volts: 0.5,
  /** The other pot of a pair loads the divider a little less. */
  share: 0.05,
  source: "common practice",
} as const;

/** A secondary of more ohms works into grids. */
export const gridWinding = { leastOhms: 1000, source: "common practice: no loudspeaker is made so" } as const;

/**
 * Direct volts that a contact breaks as it does alternating ones. Volts that pulsate are direct where they go the other way by less
 * than a share of their crest.
 */
export const directContact = { volts: 30, otherWay: 0.1, source: "common practice" } as const;

/** A filament lamp at nominal mains may stand this much above its marking. */
export const lampRise = {
  share: 1.1,
  source: "common practice: at 10 % over it lives a third as long",
} as const;

/** What even the smallest parts stand. */
export const smallestPart = {
  resistorVolts: 100,
  trimmerWatts: 0.02,
  heaterCathodeVolts: 40,
  source: "common practice: below what any sheet of such a part allows",
} as const;

/** How far a supply may rise when nothing draws, over its volts at idle. */
export const unloadedRise = {
  share: 1.3,
  source: "common practice: a capacitor input rises by a quarter",
} as const;

/** The computed output may lie this far over a rating before it is called a breach. */
export const computedOutput = {
  share: 1.15,
  source: "what the drive is held to at published full-signal rows (15 %)",
} as const;

/** A resistor in a mains conductor that passes the load's current on; above it is a load or a bleed. */
export const mainsSeries = {
  mostOhms: 1000,
  source: "common practice: inrush limiters of some ohms",
} as const;

/** A capacitor within so many ohms of the rectifier makes a capacitor input. */
export const filterInput = {
  closeOhms: 100,
  source: "common practice: surge resistors of 10 Ω to 100 Ω",
} as const;

/** Gain at crest or trough, as a part of the whole swing's, at which an output is called clipped. */
export const clipping = { gainShare: 0.2, source: "common practice" } as const;

/** A capacitor of more holds its node still over an audio cycle. */
export const holding = { farads: 1e-6, source: "common practice: 10 µF at 40 Hz is 400 Ω" } as const;

/** A mains outlet's own resistance. */
export const outlet = {
  ohms: 0.3,
  source: "from memory: 0.2 Ω to 0.5 Ω; no figure told rests on it",
} as const;

/** A plate or screen with so little on it, and next to no current, has no supply; a way to common of so few ohms holds it there. */
export const deadSupply = { volts: 2, amps: 10e-6, holdingOhms: 1000, source: "common practice" } as const;

/**
 * A rectifier that carries less than this part of what its opposite carries does nothing; a winding whose halves are this near to
 * each other is centre-tapped; a resistor of no more stands in a rectifier's lead.
 */
export const twoHalves = {
  idleShare: 0.01,
  likeShare: 0.1,
  leadOhms: 5000,
  source: "common practice: the two sides of a full-wave rectifier carry the same",
} as const;

/** A cathode's current comes to its own grid's net through no more; a larger resistor there is the grid's leak. */
export const cathodeWay = { mostOhms: 100e3, source: "common practice: tails of 100 kΩ at most" } as const;

/** What the resistor ahead of a bias adjustment takes of the bias supply's volts; more is the mark of another decade. */
export const biasDropper = {
  mostShare: 0.75,
  source: "common practice: half of them, so that either way is left to turn",
} as const;
