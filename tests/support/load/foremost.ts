/**
 * The command that runs these words ahead of whatever else runs on the machine, where that is allowed (root on
 * Linux), and runs them as they are elsewhere. Other people's work is not what a measurement is about; what is
 * measured has the same rank among its own parts as ever. Start it in a session of its own (`detached`): Linux may
 * weigh by sessions, and this raises the session.
 * @param below by how much these words rank below others that are run so: a window by `windowNiceness`.
 */
export function foremost(words: readonly string[], below = 0): readonly [string, ...string[]] {
  const script = [
    `{ echo ${below - 19} > /proc/self/autogroup; } 2>/dev/null`,
    `renice -n ${below - 15} -p $$ >/dev/null 2>&1`,
    'exec "$@"',
  ].join('\n');
  return ['sh', '-c', script, 'sh', ...words];
}
