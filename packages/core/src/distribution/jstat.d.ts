// The part of jstat that this folder uses; the package brings no types.
declare module 'jstat' {
  interface Jstat {
    /** ln Γ(x), x > 0 (Zhang & Jin's routine). */
    loggam(x: number): number;
  }
  const jstat: Jstat;
  export = jstat;
}
