import { confirmationHold, holdFor } from '../schedule/hold.ts';
import type { StudyOpened } from '../study/event.ts';
import type { SetPoints } from '../trade/line.ts';
import { startTemperature } from '../trade/start-temperature.ts';

/** Soak at the set points before the screw turns; common practice is 15 to 30 min, no source. */
const soakMinutes = 20;

/** How to bring a cold line to a recipe, step by step. */
export function warmUpSteps(
  setPoints: SetPoints,
  { line, grade, product }: Pick<StudyOpened, 'line' | 'grade' | 'product'>,
): string[] {
  const start = startTemperature(grade, line);
  const { seconds } = holdFor({
    from: { kind: 'cold', roomCelsius: 23, soakMinutes },
    to: setPoints,
    line,
    grade,
    diameterMm: product.diameterMm,
    rule: confirmationHold,
  });
  return [
    `Nozzle up first or together with the rest, every zone to ${start.celsius} °C, then to the set points.`,
    `Let every zone stand at its set point for ${soakMinutes} min before the screw turns.`,
    `Screw at its lowest speed, watch torque, then ${setPoints.screwRpm} rpm and fan ${setPoints.fanPercent} %.`,
    `Wind nothing onto the spool for about ${Math.round(seconds / 60)} min from cold: until 1.7 barrel volumes have gone and the strand is steady.`,
  ];
}
