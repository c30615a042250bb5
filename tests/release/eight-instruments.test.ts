import { recordEightInstruments } from '../support/load/record-eight-instruments.ts';

recordEightInstruments(Number(process.env['CHAMBERSIDE_MINUTES'] ?? 10));
