import { simulatedStudies } from '../support/study/simulated-studies.ts';

simulatedStudies(1000);
