import {
  csvLog,
  demoScenario,
  px31,
  VirtualLine,
  type VirtualReading,
} from '@strandwise/virtual-line';

/** The whole log of a spool made on the virtual line, as a gauge would write it. */
export function virtualSpool({
  seed,
  hours,
  level = 194,
  fanPercent = 50,
}: {
  readonly seed: number;
  readonly hours: number;
  readonly level?: number;
  readonly fanPercent?: number;
}): string {
  const { line, product, driedPpm } = demoScenario;
  const virtual = new VirtualLine({
    line,
    grade: px31,
    product,
    seed,
    setPoints: {
      zonesCelsius: [level - 14, level + 2, level + 8, level + 4],
      screwRpm: 4.5,
      fanPercent,
      other: {},
    },
    moisturePpm: driedPpm,
  });
  const readings: VirtualReading[] = [];
  for (let i = 0; i < 600; i++) virtual.step();
  for (let i = 0; i < 3600 * hours; i++) {
    if (i % 3600 === 0) virtual.refill(driedPpm, 'same');
    readings.push(virtual.step());
  }
  return csvLog(readings);
}
