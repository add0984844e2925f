/**
 * The name of a grouping as it is said of several: a column is called after one of them ("zone
 * setting"), the usual names after all ("whole plots").
 *
 * @example several('zone setting') // "zone settings"
 */
export const several = (name: string): string => (/s$/i.test(name) ? name : `${name}s`);
