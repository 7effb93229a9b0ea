/** The entry of a checking thread. */
import { loadCommands } from "./load.ts";

void loadCommands().then(({ serve }) => serve());
