/** What the command line needs of the world around it; tests give their own. */
export interface Host {
  /** Folder that relative paths start from. */
  readonly cwd: string;
  readonly env: Readonly<Record<string, string | undefined>>;
  /** Whether a person reads standard output on a terminal. */
  readonly terminal: boolean;
  /** Width of that terminal in characters. */
  readonly columns?: number;
  /** Today in the host's time zone, ISO date: waivers end by it. */
  readonly today: string;
  /** Standard output. Given whole texts, never a part of one. */
  out(text: string): void;
  /** Standard error. */
  err(text: string): void;
  /** A line on the terminal of standard error that the next one takes the place of; absent where there is none. */
  readonly progress?: (line: string) => void;
  /** All of standard input. */
  readInput(): Promise<Uint8Array>;
  /** Ends what goes on until it is interrupted. */
  readonly stop?: AbortSignal;
}

/** The process that we run in. */
export function processHost(): Host {
  const now = new Date();
  const two = (n: number) => String(n).padStart(2, "0");
  return {
    cwd: process.cwd(),
    env: process.env,
    terminal: process.stdout.isTTY === true,
    columns: process.stdout.columns,
    today: `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`,
    out: (text) => void process.stdout.write(text),
    err: (text) => void process.stderr.write(text),
    progress: process.stderr.isTTY ? (line) => void process.stderr.write(`\r\u001b[K${line}`) : undefined,
    readInput: async () => {
      const chunks: Uint8Array[] = [];
      for await (const chunk of process.stdin) chunks.push(chunk as Uint8Array);
      return Buffer.concat(chunks);
    },
  };
}
