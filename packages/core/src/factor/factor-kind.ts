// Apart from the schemas, so that what only reads factors (a page in a browser) need not carry them.

/** True of a factor measured on a scale. */
export const isNumeric = <F extends object>(
  factor: F,
): factor is Extract<F, { readonly low: number }> => 'low' in factor;

/** True of a factor with named levels. */
export const isNamed = <F extends object>(
  factor: F,
): factor is Extract<F, { readonly levels: readonly string[] }> => 'levels' in factor;
