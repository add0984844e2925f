/** Seconds as m:ss, or h:mm:ss from an hour on. */
export function countdown(seconds: number): string {
  const whole = Math.max(0, Math.ceil(seconds));
  const [h, m, s] = [Math.floor(whole / 3600), Math.floor((whole % 3600) / 60), whole % 60];
  const two = (n: number): string => String(n).padStart(2, '0');
  return h > 0 ? `${h}:${two(m)}:${two(s)}` : `${m}:${two(s)}`;
}

/** Seconds in words, as coarse as a person needs. */
export function roughly(seconds: number): string {
  const minutes = Math.round(seconds / 60);
  if (minutes < 1) return 'under a minute';
  if (minutes < 90) return `about ${minutes} min`;
  return `about ${(minutes / 60).toFixed(1)} h`;
}

/** Local clock time hh:mm. */
export function clockTime(ms: number): string {
  const moment = new Date(ms);
  return `${String(moment.getHours()).padStart(2, '0')}:${String(moment.getMinutes()).padStart(2, '0')}`;
}
