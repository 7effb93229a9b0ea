declare const DERATE_VERSION: string | undefined;

/** The package's version; the build writes it in. */
export const version: string = typeof DERATE_VERSION === "string" ? DERATE_VERSION : "0.0.0-source";
