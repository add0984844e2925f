import type { RunSheetInput } from '@strandwise/report';

// An invented plan: no grade, line or person of it is real.
export const inventedSheet: RunSheetInput = {
  title: 'Run sheet: PX-31 on bench line A (invented)',
  lines: [
    'plan B, optimal split, seed 20817 · lot 0417 · product 1.75 ± 0.03 mm',
    'date ____________   operator ____________   extraction on ☐   guards on ☐',
  ],
  settings: [
    { name: 'zone 1', unit: '°C' },
    { name: 'zone 2', unit: '°C' },
    { name: 'zone 3', unit: '°C' },
    { name: 'zone 4', unit: '°C' },
    { name: 'screw', unit: 'rpm', decimals: 1 },
    { name: 'fan', unit: '%' },
    { name: 'nozzle' },
  ],
  cells: Array.from({ length: 24 }, (_, i) => ({
    runOrder: i + 1,
    zoneSetting: Math.floor(i / 3) + 1,
    setPoints: [
      178 - 4 * (Math.floor(i / 3) % 2),
      184 + 8 * (Math.floor(i / 3) % 2),
      191,
      188,
      4.5 + (i % 3),
      50 * (i % 2),
      i < 12 ? '3 mm' : '2.5 mm',
    ],
    holdMinutes: i % 3 === 0 ? 16.4 : null,
  })),
  blanks: ['set at', 'mean (mm)', 'SD (mm)', 'bubbles', 'metres', 'by'],
  outcomes: ['good', 'cold', 'hot', 'no feed'],
  cautions: [
    'Hot barrel and melt under pressure: stand clear of the nozzle. Local rules and the machine’s manual prevail.',
  ],
};
