/** Every valve and semiconductor file, bundled. A new type is one JSON file and one line here. */

import V1N4007 from "./1N4007.json" with { type: "json" };
import D1N4148 from "./1N4148.json" with { type: "json" };
import V1N5408 from "./1N5408.json" with { type: "json" };
import V2A3 from "./2A3.json" with { type: "json" };
import V5R4GY from "./5R4GY.json" with { type: "json" };
import V5T4 from "./5T4.json" with { type: "json" };
import V5U4G from "./5U4G.json" with { type: "json" };
import V5U4GB from "./5U4GB.json" with { type: "json" };
import V5V4GA from "./5V4GA.json" with { type: "json" };
import V5W4GT from "./5W4GT.json" with { type: "json" };
import V5Y3GT from "./5Y3GT.json" with { type: "json" };
import V5Z4G from "./5Z4G.json" with { type: "json" };
import V6AC7 from "./6AC7.json" with { type: "json" };
import V6AG7 from "./6AG7.json" with { type: "json" };
import V6AK5 from "./6AK5.json" with { type: "json" };
import V6AK6 from "./6AK6.json" with { type: "json" };
import V6AN8A from "./6AN8A.json" with { type: "json" };
import V6AQ5A from "./6AQ5A.json" with { type: "json" };
import V6AS7G from "./6AS7G.json" with { type: "json" };
import V6AT6 from "./6AT6.json" with { type: "json" };
import V6AU6A from "./6AU6A.json" with { type: "json" };
import V6AV6 from "./6AV6.json" with { type: "json" };
import V6AX5GT from "./6AX5GT.json" with { type: "json" };
import V6B4G from "./6B4G.json" with { type: "json" };
import V6BL7GTA from "./6BL7GTA.json" with { type: "json" };
import V6BQ7A from "./6BQ7A.json" with { type: "json" };
import V6BX7GT from "./6BX7GT.json" with { type: "json" };
import V6C4 from "./6C4.json" with { type: "json" };
import V6C5 from "./6C5.json" with { type: "json" };
import V6CG7 from "./6CG7.json" with { type: "json" };
import V6CL6 from "./6CL6.json" with { type: "json" };
import V6DJ8 from "./6DJ8.json" with { type: "json" };
import V6EM7 from "./6EM7.json" with { type: "json" };
import V6EU7 from "./6EU7.json" with { type: "json" };
import V6F6 from "./6F6.json" with { type: "json" };
import V6GH8A from "./6GH8A.json" with { type: "json" };
import V6J5 from "./6J5.json" with { type: "json" };
import V6J6 from "./6J6.json" with { type: "json" };
import V6J7 from "./6J7.json" with { type: "json" };
import V6K6GT from "./6K6GT.json" with { type: "json" };
import V6L6G from "./6L6G.json" with { type: "json" };
import V6L6GC from "./6L6GC.json" with { type: "json" };
import V6N1P from "./6N1P.json" with { type: "json" };
import V6N2P from "./6N2P.json" with { type: "json" };
import V6N6P from "./6N6P.json" with { type: "json" };
import V6N7 from "./6N7.json" with { type: "json" };
import V6SC7 from "./6SC7.json" with { type: "json" };
import V6SF5 from "./6SF5.json" with { type: "json" };
import V6SH7 from "./6SH7.json" with { type: "json" };
import V6SJ7 from "./6SJ7.json" with { type: "json" };
import V6SL7GT from "./6SL7GT.json" with { type: "json" };
import V6SN7GTB from "./6SN7GTB.json" with { type: "json" };
import V6SQ7 from "./6SQ7.json" with { type: "json" };
import V6U8A from "./6U8A.json" with { type: "json" };
import V6V6GTA from "./6V6GTA.json" with { type: "json" };
import V6X4 from "./6X4.json" with { type: "json" };
import V6X5GT from "./6X5GT.json" with { type: "json" };
import V6Y6G from "./6Y6G.json" with { type: "json" };
import V10 from "./10.json" with { type: "json" };
import V12AT7 from "./12AT7.json" with { type: "json" };
import V12AU7A from "./12AU7A.json" with { type: "json" };
import V12AV7 from "./12AV7.json" with { type: "json" };
import V12AX7A from "./12AX7A.json" with { type: "json" };
import V12AY7 from "./12AY7.json" with { type: "json" };
import V12B4A from "./12B4A.json" with { type: "json" };
import V12BH7A from "./12BH7A.json" with { type: "json" };
import V12BY7A from "./12BY7A.json" with { type: "json" };
import V12BZ7 from "./12BZ7.json" with { type: "json" };
import V12DW7 from "./12DW7.json" with { type: "json" };
import V27 from "./27.json" with { type: "json" };
import V35C5 from "./35C5.json" with { type: "json" };
import V35L6GT from "./35L6GT.json" with { type: "json" };
import V35W4 from "./35W4.json" with { type: "json" };
import V35Z5GT from "./35Z5GT.json" with { type: "json" };
import V45 from "./45.json" with { type: "json" };
import V50 from "./50.json" with { type: "json" };
import V50C5 from "./50C5.json" with { type: "json" };
import V50EH5 from "./50EH5.json" with { type: "json" };
import V50L6GT from "./50L6GT.json" with { type: "json" };
import V71A from "./71A.json" with { type: "json" };
import V76 from "./76.json" with { type: "json" };
import V83 from "./83.json" with { type: "json" };
import V84 from "./84.json" with { type: "json" };
import V300B from "./300B.json" with { type: "json" };
import V5670 from "./5670.json" with { type: "json" };
import V5687 from "./5687.json" with { type: "json" };
import V5751 from "./5751.json" with { type: "json" };
import V5879 from "./5879.json" with { type: "json" };
import V5881 from "./5881.json" with { type: "json" };
import V6550A from "./6550A.json" with { type: "json" };
import V6973 from "./6973.json" with { type: "json" };
import V7027A from "./7027A.json" with { type: "json" };
import V7199 from "./7199.json" with { type: "json" };
import V7591A from "./7591A.json" with { type: "json" };
import V8417 from "./8417.json" with { type: "json" };
import EC92 from "./EC92.json" with { type: "json" };
import ECC33 from "./ECC33.json" with { type: "json" };
import ECC85 from "./ECC85.json" with { type: "json" };
import ECC99 from "./ECC99.json" with { type: "json" };
import ECF80 from "./ECF80.json" with { type: "json" };
import ECL80 from "./ECL80.json" with { type: "json" };
import ECL82 from "./ECL82.json" with { type: "json" };
import ECL86 from "./ECL86.json" with { type: "json" };
import EF37A from "./EF37A.json" with { type: "json" };
import EF80 from "./EF80.json" with { type: "json" };
import EF86 from "./EF86.json" with { type: "json" };
import EF91 from "./EF91.json" with { type: "json" };
import EL33 from "./EL33.json" with { type: "json" };
import EL34 from "./EL34.json" with { type: "json" };
import EL36 from "./EL36.json" with { type: "json" };
import EL41 from "./EL41.json" with { type: "json" };
import EL82 from "./EL82.json" with { type: "json" };
import EL84 from "./EL84.json" with { type: "json" };
import EL86 from "./EL86.json" with { type: "json" };
import EL95 from "./EL95.json" with { type: "json" };
import EZ40 from "./EZ40.json" with { type: "json" };
import EZ80 from "./EZ80.json" with { type: "json" };
import EZ81 from "./EZ81.json" with { type: "json" };
import type { ValveFile } from "./file.ts";
import GZ34 from "./GZ34.json" with { type: "json" };
import GZ37 from "./GZ37.json" with { type: "json" };
import KT61 from "./KT61.json" with { type: "json" };
import KT66 from "./KT66.json" with { type: "json" };
import KT88 from "./KT88.json" with { type: "json" };
import LED from "./LED.json" with { type: "json" };
import LED_GREEN from "./LED-green.json" with { type: "json" };
import LED_INFRARED from "./LED-infrared.json" with { type: "json" };
import PX25 from "./PX25.json" with { type: "json" };
import UF4007 from "./UF4007.json" with { type: "json" };

export const valveFiles = [
  V12AV7,
  V35C5,
  V35L6GT,
  V35Z5GT,
  V5T4,
  V6Y6G,
  V76,
  V6SH7,
  V83,
  V12AT7,
  V12AU7A,
  V12AX7A,
  V12AY7,
  V12BH7A,
  V12DW7,
  V1N4007,
  V1N5408,
  V2A3,
  V300B,
  V35W4,
  V45,
  V50C5,
  V50EH5,
  V50L6GT,
  V5687,
  V5751,
  V5879,
  V5881,
  V5R4GY,
  V5U4G,
  V5U4GB,
  V5V4GA,
  V5W4GT,
  V5Y3GT,
  V5Z4G,
  V6550A,
  V6973,
  V6AN8A,
  V6AQ5A,
  V6AT6,
  V6AU6A,
  V6AV6,
  V6AX5GT,
  V6B4G,
  V6BQ7A,
  V6C4,
  V6C5,
  V6CG7,
  V6DJ8,
  V6EU7,
  V6F6,
  V6GH8A,
  V6J5,
  V6J7,
  V6K6GT,
  V6L6G,
  V6L6GC,
  V6N1P,
  V6N2P,
  V6N7,
  V6SC7,
  V6SF5,
  V6SJ7,
  V6SL7GT,
  V6SN7GTB,
  V6SQ7,
  V6U8A,
  V6V6GTA,
  V6X4,
  V6X5GT,
  V7027A,
  V7199,
  V7591A,
  V8417,
  ECC33,
  ECC85,
  ECC99,
  ECF80,
  ECL82,
  ECL86,
  EF80,
  EF86,
  EF91,
  EL34,
  EL36,
  EL41,
  EL84,
  EL86,
  EL95,
  EZ40,
  EZ80,
  EZ81,
  GZ34,
  GZ37,
  KT66,
  KT88,
  UF4007,
  EL82,
  ECL80,
  KT61,
  EL33,
  V6EM7,
  V6BX7GT,
  V6BL7GTA,
  V6AS7G,
  V12B4A,
  V6AK5,
  V6AC7,
  V6AG7,
  V6CL6,
  V12BY7A,
  V6AK6,
  EC92,
  V6J6,
  PX25,
  V71A,
  V50,
  V10,
  V27,
  EF37A,
  V6N6P,
  V12BZ7,
  V84,
  V5670,
  D1N4148,
  LED,
  LED_GREEN,
  LED_INFRARED,
] as unknown as readonly ValveFile[];
