import type { Theme } from '../../theme.ts';

/** Room and theme that a part of the screen is drawn for. */
export interface Look {
  readonly columns: number;
  readonly theme: Theme;
}

export const isNarrow = ({ columns }: Look): boolean => columns < 60;
