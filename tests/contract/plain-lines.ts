import { LineFormat } from '@strandwise/gauge';

/** `1.752,15.0`: a diameter and a puller speed, stamped on arrival. */
export const plainLines = LineFormat.parse({
  delimiter: ',',
  fieldCount: 2,
  time: { from: 'arrival' },
  fields: [
    { column: 1, means: 'diameter', unit: 'mm' },
    { column: 2, means: 'puller', unit: 'mm/s' },
  ],
});
