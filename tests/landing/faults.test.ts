import { surviveFaults } from '../faults/survived.ts';

surviveFaults(1, ['exercise']);
