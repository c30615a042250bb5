import { useMemo, type ReactElement } from 'react';
import { RegisterScreen } from '../register/register-screen.tsx';
import type { RegisterActions } from '../register/register-screen.tsx';
import type { PlaceProps } from './places.tsx';

/** The register of instruments, joined to the host. */
export function RegisterPlace({ connection, snapshot }: PlaceProps): ReactElement {
  const actions = useMemo<RegisterActions>(
    () => ({
      view: () => connection.ask((client) => client.register.view({})),
      history: (instrument) => connection.ask((client) => client.register.history({ instrument })),
      add: (asked) => connection.ask((client) => client.register.add(asked)),
      now: () => Date.now(),
    }),
    [connection],
  );
  return <RegisterScreen snapshot={snapshot} actions={actions} />;
}
