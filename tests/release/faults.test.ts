import { surviveFaults } from '../faults/survived.ts';

surviveFaults(Number(process.env['CHAMBERSIDE_FAULTS'] ?? 20));
