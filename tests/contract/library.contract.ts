import { DomainError, type Grade, type Library, Line } from '@strandwise/core';
import { beforeEach, describe, expect, it } from 'vitest';
import { exampleGrade, exampleLine } from '../core/study/example-study.ts';

const by = (minute: number) => ({
  at: new Date(Date.UTC(2026, 0, 5, 8, minute)).toISOString(),
  who: 'tester',
});

/** What every library must do; run on each adapter. `reopen` closes and opens the same library. */
export function libraryContract(
  name: string,
  make: () => { library: Library; reopen?: () => Library },
): void {
  describe(`library: ${name}`, () => {
    let made: ReturnType<typeof make>;
    let library: Library;
    beforeEach(() => {
      made = make();
      library = made.library;
    });
    const warmer: Grade = { ...exampleGrade, ceilingCelsius: 230 };

    it('starts empty', () => {
      expect(library.entries('grade')).toEqual([]);
      expect(library.entry('line', 'any')).toBeUndefined();
      expect(library.recentStudies(5)).toEqual([]);
    });

    it('counts revisions and keeps the old ones', () => {
      expect(library.keep('grade', 'PX-31', exampleGrade, by(0)).revision).toBe(1);
      expect(library.keep('grade', 'PX-31', warmer, by(1)).revision).toBe(2);
      expect(library.entry('grade', 'px-31')).toMatchObject({
        revision: 2,
        who: 'tester',
        value: warmer,
      });
      expect(library.entry('grade', 'PX-31', 1)?.value).toEqual(exampleGrade);
      expect(library.history('grade', 'PX-31').map(({ revision }) => revision)).toEqual([1, 2]);
    });

    it('keeps nothing new when nothing has changed', () => {
      library.keep('grade', 'PX-31', exampleGrade, by(0));
      expect(library.keep('grade', 'px-31 ', { ...exampleGrade }, by(5))).toMatchObject({
        revision: 1,
        at: by(0).at,
      });
      expect(library.history('grade', 'PX-31')).toHaveLength(1);
    });

    it('lists the latest of each by name, kind by kind', () => {
      library.keep('grade', 'b', exampleGrade, by(0));
      library.keep('grade', 'A', exampleGrade, by(1));
      library.keep('grade', 'b', warmer, by(2));
      library.keep('line', 'a', exampleLine, by(3));
      expect(library.entries('grade').map(({ name: n, revision }) => [n, revision])).toEqual([
        ['A', 1],
        ['b', 2],
      ]);
      expect(library.entries('line')).toHaveLength(1);
    });

    it('refuses a value that does not keep to its schema, and keeps nothing', () => {
      const broken = { ...exampleGrade, floorCelsius: 400 };
      expect(() => library.keep('grade', 'broken', broken, by(0))).toThrow(DomainError);
      expect(library.entries('grade')).toEqual([]);
    });

    it('does not let a caller change what is kept', () => {
      const line = Line.parse(structuredClone(exampleLine));
      library.keep('line', 'bench', line, by(0));
      (line.zones[0] as { heaterLimitCelsius: number }).heaterLimitCelsius = 1;
      expect(library.entry('line', 'bench')?.value.zones[0]?.heaterLimitCelsius).toBe(350);
    });

    it('remembers studies, the latest opened first, each once', () => {
      for (const [path, minute] of [
        ['/a', 0],
        ['/b', 1],
        ['/a', 2],
      ] as const)
        library.noteStudy({ path, name: path, at: by(minute).at });
      expect(library.recentStudies(5).map(({ path }) => path)).toEqual(['/a', '/b']);
      expect(library.recentStudies(1)).toHaveLength(1);
    });

    it('keeps everything when it is opened again', () => {
      library.keep('line', 'bench', exampleLine, by(0));
      library.noteStudy({ path: '/a', name: 'a', at: by(0).at });
      const again = made.reopen?.() ?? library;
      expect(again.entry('line', 'bench')?.value).toEqual(exampleLine);
      expect(again.recentStudies(5)).toHaveLength(1);
    });
  });
}
