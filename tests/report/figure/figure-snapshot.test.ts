import { figureSvg } from '@strandwise/report';
import { describe, expect, it } from 'vitest';
import { inventedFigures } from './invented-figures.ts';

// Regression snapshots of our own output: they show that a picture changed, not that it is right.
describe('figureSvg', () => {
  for (const [key, figure] of Object.entries(inventedFigures)) {
    const name = key.replace(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`);
    it(`draws ${name} as before`, async () => {
      await expect(figureSvg(figure, name)).toMatchFileSnapshot(`../__snapshots__/${name}.svg`);
    });

    it(`draws ${name} alike twice, with ids of its own and no number that is not finite`, () => {
      const svg = figureSvg(figure, name);
      expect(figureSvg(figure, name)).toBe(svg);
      expect(svg).not.toMatch(/NaN|Infinity|undefined|null/);
      const ids = [...svg.matchAll(/ id="([^"]+)"/g)].map((match) => match[1]!);
      expect(new Set(ids).size).toBe(ids.length);
      expect(ids.every((id) => new RegExp(`^${name}-\\d+$`).test(id))).toBe(true);
    });

    it(`names and describes ${name} for a screen reader`, () => {
      const svg = figureSvg(figure, name);
      const [, titleId] = /aria-labelledby="([^"]+)"/.exec(svg) ?? [];
      const [, descriptionId] = /aria-describedby="([^"]+)"/.exec(svg) ?? [];
      expect(svg).toContain('role="img"');
      expect(svg).toContain(`<title id="${titleId}">${figure.title}</title>`);
      expect(svg).toContain(`<desc id="${descriptionId}">`);
    });

    it(`rounds every coordinate of ${name} to 0.01`, () => {
      const attributes = figureSvg(figure, name).replace(/>[^<]*</g, '><');
      const numbers = attributes.matchAll(/(?:[\s"ML,(])(-?\d+\.\d{3,})/g);
      expect([...numbers].map((match) => match[1])).toEqual([]);
    });
  }
});
