/**
 * Effects of a two-level factorial: the change of the mean response from low to high, which is
 * twice the coefficient on −1/+1 columns.
 *
 * @param coefficients - on −1/+1 columns, the constant left out
 * @source NIST/SEMATECH e-Handbook of Statistical Methods, section 5.5.9.10
 */
export function factorialEffects(coefficients: Float64Array): Float64Array {
  return coefficients.map((value) => 2 * value);
}
