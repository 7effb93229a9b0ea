/** The commands' work, one file each; a command runs none of what only another needs. */
type Work<M, K extends keyof M> = M[K] extends (...args: infer A) => infer R
  ? (...args: A) => Promise<Awaited<R>>
  : never;

/** What the commands that check collections take of the core. */
export const core = () => import("./core.ts");

/** The function of that name, from a module that is run when the function is first called. */
function lazy<M, K extends keyof M>(load: () => Promise<M>, name: K): Work<M, K> {
  const call = async (...args: unknown[]) =>
    ((await load())[name] as (...args: unknown[]) => unknown)(...args);
  return call as Work<M, K>;
}

export const compare = lazy(() => import("./commands/compare.ts"), "compare");
export const completion = lazy(() => import("./commands/completion.ts"), "completion");
export const config = lazy(() => import("./commands/config.ts"), "config");
export const explain = lazy(() => import("./commands/explain.ts"), "explain");
export const format = lazy(() => import("./commands/format.ts"), "format");
export const init = lazy(() => import("./commands/init.ts"), "init");
export const merge = lazy(() => import("./commands/merge.ts"), "merge");
export const rules = lazy(() => import("./commands/explain.ts"), "rules");
export const serve = lazy(() => import("./serve.ts"), "serve");
export const volts = lazy(() => import("./commands/volts.ts"), "volts");
