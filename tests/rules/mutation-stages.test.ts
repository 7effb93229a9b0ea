/** Each sound sample, one fault put in at a time: parts, valves, supplies and output stages. */
import { output } from "./mutations/output.ts";
import { rating } from "./mutations/rating.ts";
import { holdMutations } from "./mutations/run.ts";
import { supply } from "./mutations/supply.ts";
import { valve } from "./mutations/valve.ts";

holdMutations([...rating, ...valve, ...supply, ...output]);
