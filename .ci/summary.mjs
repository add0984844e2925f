// Prints the closing line of a check: tests passed and failed, and a failed step before them as one failure.
import { existsSync, readFileSync } from 'node:fs';

const [, , file, status] = process.argv;
let passed = 0;
let failed = 0;
if (file && existsSync(file)) {
  const results = JSON.parse(readFileSync(file, 'utf8'));
  passed = results.numPassedTests;
  failed = results.numFailedTests + (results.numFailedTestSuites > 0 && results.numFailedTests === 0 ? results.numFailedTestSuites : 0);
}
if (status !== '0' && failed === 0) failed = 1;
console.log(`${passed} passed, ${failed} failed`);
