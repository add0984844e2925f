/** Set by the build from package.json. */
declare const __STRANDWISE_VERSION__: string;
