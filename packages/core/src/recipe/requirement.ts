import { bubbleName, spreadName } from '../study/line-response.ts';
import type { Requirement } from '../surface/conformance.ts';
import type { Product } from '../trade/grade.ts';

/**
 * What a conforming spool must keep, from the product: an SD of diameter that leaves the asked
 * performance index, and bubbles within their limit. Output is wished for by its goal; a spool made
 * slowly conforms all the same.
 *
 * With the mean on target Ppk = tolerance / (3·SD), so SD may be tolerance / (3·Ppk) at most.
 *
 * @source ISO 22514-2 (performance indices), from memory
 */
export function productRequirements(product: Product): Requirement[] {
  const { toleranceMm, leastPpk, mostBubblesPerMetre } = product;
  const mostSd = toleranceMm / (3 * leastPpk);
  return [
    {
      response: spreadName,
      atMost: mostSd,
      says: `SD of diameter at most ${mostSd.toFixed(4)} mm (Ppk ${leastPpk} in ±${toleranceMm} mm)`,
    },
    {
      response: bubbleName,
      atMost: mostBubblesPerMetre,
      says: `at most ${mostBubblesPerMetre} bubbles per metre`,
    },
  ];
}
