/** Every valve and semiconductor file, bundled. A new type is one JSON file and one line here. */

import V1N4007 from "./1N4007.json" with { type: "json" };
import V1N5408 from "./1N5408.json" with { type: "json" };
import V5R4GY from "./5R4GY.json" with { type: "json" };
import V5U4G from "./5U4G.json" with { type: "json" };
import V5U4GB from "./5U4GB.json" with { type: "json" };
import V5V4GA from "./5V4GA.json" with { type: "json" };
import V5Y3GT from "./5Y3GT.json" with { type: "json" };
import V6AQ5A from "./6AQ5A.json" with { type: "json" };
import V6AU6A from "./6AU6A.json" with { type: "json" };
import V6CG7 from "./6CG7.json" with { type: "json" };
import V6DJ8 from "./6DJ8.json" with { type: "json" };
import V6F6 from "./6F6.json" with { type: "json" };
import V6J5 from "./6J5.json" with { type: "json" };
import V6J7 from "./6J7.json" with { type: "json" };
import V6K6GT from "./6K6GT.json" with { type: "json" };
import V6L6G from "./6L6G.json" with { type: "json" };
import V6L6GC from "./6L6GC.json" with { type: "json" };
import V6SC7 from "./6SC7.json" with { type: "json" };
import V6SJ7 from "./6SJ7.json" with { type: "json" };
import V6SL7GT from "./6SL7GT.json" with { type: "json" };
import V6SN7GTB from "./6SN7GTB.json" with { type: "json" };
import V6V6GTA from "./6V6GTA.json" with { type: "json" };
import V6X4 from "./6X4.json" with { type: "json" };
import V6X5GT from "./6X5GT.json" with { type: "json" };
import V12AT7 from "./12AT7.json" with { type: "json" };
import V12AU7A from "./12AU7A.json" with { type: "json" };
import V12AX7A from "./12AX7A.json" with { type: "json" };
import V12AY7 from "./12AY7.json" with { type: "json" };
import V12BH7A from "./12BH7A.json" with { type: "json" };
import V12DW7 from "./12DW7.json" with { type: "json" };
import V5751 from "./5751.json" with { type: "json" };
import V5881 from "./5881.json" with { type: "json" };
import V6550A from "./6550A.json" with { type: "json" };
import V7591A from "./7591A.json" with { type: "json" };
import EF80 from "./EF80.json" with { type: "json" };
import EF86 from "./EF86.json" with { type: "json" };
import EL34 from "./EL34.json" with { type: "json" };
import EL84 from "./EL84.json" with { type: "json" };
import EZ40 from "./EZ40.json" with { type: "json" };
import EZ80 from "./EZ80.json" with { type: "json" };
import EZ81 from "./EZ81.json" with { type: "json" };
import type { ValveFile } from "./file.ts";
import GZ34 from "./GZ34.json" with { type: "json" };
import KT66 from "./KT66.json" with { type: "json" };
import KT88 from "./KT88.json" with { type: "json" };
import UF4007 from "./UF4007.json" with { type: "json" };

export const valveFiles = [
  V12AT7,
  V12AU7A,
  V12AX7A,
  V12AY7,
  V12BH7A,
  V12DW7,
  V1N4007,
  V1N5408,
  V5751,
  V5881,
  V5R4GY,
  V5U4G,
  V5U4GB,
  V5V4GA,
  V5Y3GT,
  V6550A,
  V6AQ5A,
  V6AU6A,
  V6CG7,
  V6DJ8,
  V6F6,
  V6J5,
  V6J7,
  V6K6GT,
  V6L6G,
  V6L6GC,
  V6SC7,
  V6SJ7,
  V6SL7GT,
  V6SN7GTB,
  V6V6GTA,
  V6X4,
  V6X5GT,
  V7591A,
  EF80,
  EF86,
  EL34,
  EL84,
  EZ40,
  EZ80,
  EZ81,
  GZ34,
  KT66,
  KT88,
  UF4007,
] as unknown as readonly ValveFile[];
