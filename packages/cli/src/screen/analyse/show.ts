import type { Journal } from '@strandwise/core';
import { createElement } from 'react';
import { fullScreen } from '../full-screen.ts';
import { type AnalyseProps, AnalyseView } from './view.tsx';

/** Opens the analyst's screens and comes back when they are left. */
export const showAnalysis = (
  journal: Journal,
  options: Omit<AnalyseProps, 'journal'>,
): Promise<void> => fullScreen(createElement(AnalyseView, { journal, ...options }), ' fitting');
