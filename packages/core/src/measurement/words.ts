/** A length in mm said in µm with two figures, or one decimal from 10 µm: `4.2 µm`, `13.1 µm`. */
export function lengthInMicrometres(mm: number): string {
  const micrometres = mm * 1000;
  const size = Math.abs(micrometres);
  return `${(size >= 100 ? micrometres.toFixed(0) : micrometres.toFixed(1)).replace('-', '−')} µm`;
}

/** A duration as a person says it: `40 s`, `6 min`, `1 h 20 min`. */
export function duration(seconds: number): string {
  const whole = Math.max(0, Math.round(seconds));
  if (whole < 90) return `${whole} s`;
  const minutes = Math.round(whole / 60);
  if (minutes < 90) return `${minutes} min`;
  const rest = minutes % 60;
  return rest === 0 ? `${minutes / 60} h` : `${Math.floor(minutes / 60)} h ${rest} min`;
}
