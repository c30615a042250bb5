/**
 * Streams of an instrument of the kind `contact`: what somebody presses, or what stands open. Readings are 1 while it
 * is pressed (open), 0 while it is at rest.
 */
export const contactStreams = ['stop', 'foot-stop', 'door'] as const;
export type ContactStream = (typeof contactStreams)[number];
