import { existsSync } from 'node:fs';
import { type Browser, chromium } from 'playwright-core';

const places = [process.env['CHROMIUM_PATH'], '/usr/bin/chromium', '/usr/bin/chromium-browser'];

/** A real browser without a screen; CHROMIUM_PATH names one that is not in the usual place. */
export async function launchedBrowser(): Promise<Browser> {
  const executablePath = places.find((place) => place !== undefined && existsSync(place));
  if (!executablePath) {
    throw new Error('launchedBrowser: Chromium must be installed; got none. Set CHROMIUM_PATH.');
  }
  return chromium.launch({
    executablePath,
    headless: true,
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
}
