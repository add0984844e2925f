/** Confidence of the intervals in a report. */
export const REPORT_LEVEL = 0.95;
