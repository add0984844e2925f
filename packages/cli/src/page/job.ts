import type { HappeningKind, StudyEvent, StudyState } from '@strandwise/core';
import { type Fact, withUnit } from '@strandwise/report';
import { listed } from './sentence.ts';

/** What was made on what by whom, and when. */
export function jobFacts(state: StudyState, events: readonly StudyEvent[]): Fact[] {
  const { grade, line, product } = state.opened;
  const lot =
    grade.lot === undefined ? '' : `, ${/\blot\b/i.test(grade.lot) ? '' : 'lot '}${grade.lot}`;
  const zones = line.zones.length === 1 ? '1 zone' : `${line.zones.length} zones`;
  return [
    { name: 'grade', value: `${grade.name}, ${grade.family}${lot}` },
    {
      name: 'barrel',
      value: `${grade.floorCelsius} to ${withUnit(String(grade.ceilingCelsius), '°C')} allowed`,
    },
    {
      name: 'line',
      value: `${line.name}, ${withUnit(String(line.screw.diameterMm), 'mm')} screw, ${zones}, puller loop ${line.puller.loop}`,
    },
    { name: 'product', value: productWords(product) },
    { name: 'drying', value: dryingWords(state) },
    { name: 'people', value: peopleWords(state, events) },
    { name: 'dates', value: dateWords(events) },
    ...walkDates(events),
  ];
}

function productWords({
  diameterMm,
  toleranceMm,
  leastPpk,
  mostBubblesPerMetre,
  leastOutputKgPerHour,
}: StudyState['opened']['product']): string {
  return [
    withUnit(`${diameterMm} ± ${toleranceMm}`, 'mm'),
    `Ppk at least ${leastPpk}`,
    `at most ${mostBubblesPerMetre} bubble${mostBubblesPerMetre === 1 ? '' : 's'} per m`,
    ...(leastOutputKgPerHour > 0
      ? [`${withUnit(String(leastOutputKgPerHour), 'kg/h')} or more wished for`]
      : []),
  ].join(', ');
}

function dryingWords({ opened, checks }: StudyState): string {
  const { drying } = opened.grade;
  const asked = drying
    ? `${withUnit(String(drying.celsius), '°C')} for ${withUnit(String(drying.hours), 'h')}, to at most ${withUnit(String(drying.mostMoisturePpm), 'ppm')}`
    : 'no drying named for the grade';
  if (!checks) return `${asked}; none noted yet`;
  const { driedHours, hoursSinceDrying } = checks;
  if (driedHours === null) return `${asked}; how long it was dried was not noted`;
  const since =
    hoursSinceDrying === null
      ? ''
      : `, ${withUnit(String(hoursSinceDrying), 'h')} before the start`;
  return `${asked}; dried ${withUnit(String(driedHours), 'h')}${since}`;
}

/** Who did what, from the names beside the entries. */
function peopleWords({ people }: StudyState, events: readonly StudyEvent[]): string {
  const by = (...kinds: readonly HappeningKind[]): string[] => [
    ...new Set(events.flatMap(({ who, what }) => (kinds.includes(what.kind) ? [who] : []))),
  ];
  const roles = [
    { did: 'opened', names: by('study opened') },
    { did: 'planned', names: by('plan adopted', 'plan extended') },
    {
      did: 'walked',
      names: by('settings entered', 'log attached', 'cell finished', 'cell failed'),
    },
    { did: 'read', names: by('model chosen', 'recipe proposed') },
    { did: 'released', names: by('recipe released') },
  ];
  const groups = new Map<string, string[]>();
  for (const { did, names } of roles) {
    const key = listed(names);
    if (key !== '') groups.set(key, [...(groups.get(key) ?? []), did]);
  }
  const others = people.filter((who) => !roles.some(({ names }) => names.includes(who)));
  return [
    ...[...groups].map(([names, deeds]) => `${listed(deeds)} by ${names}`),
    ...(others.length > 0 ? [`also ${listed(others)}`] : []),
  ].join('; ');
}

/** Moments are written in UTC, so that a page reads the same everywhere. */
export const dayOf = (at: string): string => at.slice(0, 10);
export const minuteOf = (at: string): string => at.slice(0, 16).replace('T', ' ');

function dateWords(events: readonly StudyEvent[]): string {
  const [first, last] = [dayOf(events[0]!.at), dayOf(events.at(-1)!.at)];
  return first === last
    ? `opened and last added to on ${first}`
    : `opened ${first}, last added to ${last}`;
}

function walkDates(events: readonly StudyEvent[]): Fact[] {
  const walked = events.filter(({ what }) =>
    ['settings entered', 'cell finished', 'cell failed'].includes(what.kind),
  );
  const [first, last] = [walked[0], walked.at(-1)];
  if (!first || !last) return [];
  return [{ name: 'walked', value: `${minuteOf(first.at)} to ${minuteOf(last.at)} UTC` }];
}
