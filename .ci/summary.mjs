// Prints the closing line of a check. The packed command counts as one test; a step that failed
// without a failing test (types, lint, build) counts as one failure.
import { existsSync, readFileSync } from 'node:fs';

const [, , file, tested, packed] = process.argv;
let passed = 0;
let failed = 0;
if (file && existsSync(file)) {
  const results = JSON.parse(readFileSync(file, 'utf8'));
  passed = results.numPassedTests;
  failed = results.numFailedTests;
}
if (tested !== '0' && failed === 0) failed += 1;
if (packed === '0') passed += 1;
else failed += 1;
console.log(`${passed} passed, ${failed} failed`);
