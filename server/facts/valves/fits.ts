/** Parameters of every section's law, written by `npm run fit` from the points of the data files. */

import type { FitsFile } from "./fit-file.ts";
import fitsJson from "./fits.json" with { type: "json" };

export const fits = fitsJson as unknown as FitsFile;
