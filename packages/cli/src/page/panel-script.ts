import { readFileSync } from 'node:fs';

/** Where the build puts the panel's program, beside the command itself. */
const panelFile = new URL('./panel.js', import.meta.url);

/** The panel's program as the build made it. */
export const panelScript = (): string => readFileSync(panelFile, 'utf-8');
