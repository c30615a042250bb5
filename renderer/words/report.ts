import type { ReportProgress } from '../app/receive-report.ts';

const stages = {
  walking: 'Walking the chains of the trials',
  reading: 'Reading the trial and walking its chain',
  composing: 'Composing the report',
  setting: 'Setting the pages',
} as const;

export const reportWords = {
  pdf: 'Report PDF',
  page: 'Report HTML',
  progress: (progress: ReportProgress | null): string => {
    if (progress === null) return 'Asking for the report';
    const { stage, share } = progress;
    const said = stage === 'arriving' ? 'Saving' : stages[stage];
    return share === undefined ? said : `${said}, ${Math.round(100 * share)} %`;
  },
  saved: (name: string): string => `Saved as ${name}`,
};
