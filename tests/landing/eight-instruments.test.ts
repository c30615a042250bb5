import { recordEightInstruments } from '../support/load/record-eight-instruments.ts';

recordEightInstruments(1);
