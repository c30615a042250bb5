import { z } from 'zod';

/** The sources of doubt about a window leakage, in the order in which a budget shows them, with what each is. */
export const budgetLineWords = {
  'window-noise': 'Noise of the photometer over the window: scatter of filtered air and shot noise',
  'zero-noise': 'Noise of the zeros around the window and around the background',
  'background-noise': "Noise of the probe's background",
  'reference-noise': 'Noise of the chamber references',
  'zero-drift': 'Drift of the zero between two zeros that a straight line does not show',
  challenge: 'Course of the challenge between two references that a straight line does not show',
  dilution: 'Dilution of the lines, by certificate',
  'line-loss': 'Aerosol lost in the lines, by certificate',
  'spatial-factor': "Challenge at the subject's place against the reference point",
  linearity: 'Linearity of the photometer, by certificate',
  breathing: 'Times of breathing in and out, for a probe in the breathing zone',
  'time-constant': 'Time constant of the photometer',
  transit: 'Time from probe and valve to the reading',
} as const;
export type BudgetLineName = keyof typeof budgetLineWords;
export const budgetLineNames = Object.keys(budgetLineWords) as [BudgetLineName, ...BudgetLineName[]];
export const budgetLineNameSchema = z.enum(budgetLineNames);

/** What a budget lacks; a number whose budget lacks anything has no interval. */
export const budgetGapWords = {
  noise: 'No zero is long enough to show the noise of the photometer.',
  challenge: 'Fewer than three references: nothing tells how the challenge moves between them.',
  'zero-drift': 'Fewer than three zeros: nothing tells how the zero moves between them.',
} as const;
export type BudgetGap = keyof typeof budgetGapWords;
export const budgetGapNames = Object.keys(budgetGapWords) as [BudgetGap, ...BudgetGap[]];
export const budgetGapSchema = z.enum(budgetGapNames);
