import type { Line, SetPoints } from '../trade/line.ts';

/** One thing to key in. */
export interface SettingStep {
  readonly what: 'zone' | 'screw' | 'fan' | 'other';
  /** Zone name or factor name; "screw" or "fan" otherwise. */
  readonly name: string;
  readonly from: number | string | null;
  readonly to: number | string;
  /** True when the step waits until the zones have settled. */
  readonly afterSettling: boolean;
}

/**
 * What to key in between two cells, in the order that keeps melt free to leave: a slower screw first;
 * then zones that rise, die end first, so that nothing heats behind a stiff nozzle; then zones that
 * fall, feed end first; fan and other settings; a faster screw last, once the zones have settled.
 * Every zone stands at its old or its new set point, so no step passes below either.
 *
 * @param from - null when nothing has been set before
 * @source common practice, no source; the machine's manual prevails
 */
export function settingSequence(from: SetPoints | null, to: SetPoints, line: Line): SettingStep[] {
  const zone = (i: number): SettingStep => ({
    what: 'zone',
    name: line.zones[i]!.name,
    from: from?.zonesCelsius[i] ?? null,
    to: to.zonesCelsius[i]!,
    afterSettling: false,
  });
  const indices = line.zones.map((_, i) => i);
  const before = (i: number): number => from?.zonesCelsius[i] ?? Number.NEGATIVE_INFINITY;
  const rising = indices.filter((i) => to.zonesCelsius[i]! > before(i)).reverse();
  const falling = indices.filter((i) => to.zonesCelsius[i]! < before(i));
  const isSlower = from !== null && to.screwRpm < from.screwRpm;
  const screw: SettingStep[] =
    from?.screwRpm === to.screwRpm
      ? []
      : [
          {
            what: 'screw',
            name: 'screw',
            from: from?.screwRpm ?? null,
            to: to.screwRpm,
            afterSettling: !isSlower && rising.length + falling.length > 0,
          },
        ];
  const fan: SettingStep[] =
    from?.fanPercent === to.fanPercent
      ? []
      : [
          {
            what: 'fan',
            name: 'fan',
            from: from?.fanPercent ?? null,
            to: to.fanPercent,
            afterSettling: false,
          },
        ];
  const other = Object.entries(to.other)
    .filter(([name, value]) => from?.other[name] !== value)
    .map(
      ([name, value]): SettingStep => ({
        what: 'other',
        name,
        from: from?.other[name] ?? null,
        to: value,
        afterSettling: false,
      }),
    );
  return [
    ...(isSlower ? screw : []),
    ...rising.map(zone),
    ...falling.map(zone),
    ...other,
    ...fan,
    ...(isSlower ? [] : screw),
  ];
}
