package server

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/store"
)

// Reset is a one-time link for somebody who cannot sign in.
type Reset struct {
	Person store.Person
	Path   string // below the public address
	Until  time.Time
}

// ResetPerson makes a one-time link for whoever has a login, for use by who runs
// the machine: there may be nobody left who could make one in the browser. The
// password stays until the link is used. It is noted in the log.
func ResetPerson(ctx context.Context, st *store.Store, login string) (Reset, error) {
	p, err := st.PersonByLogin(ctx, login)
	if errors.Is(err, store.ErrNotFound) {
		return Reset{}, notFoundAs(ctx, st, login)
	}
	if err != nil {
		return Reset{}, err
	}
	token := auth.NewSecret()
	row := store.NewInvite{Token: token, Person: p.ID, Expires: st.Now().Add(inviteFor)}
	if err := st.AddInvites(ctx, []store.NewInvite{row}, store.Note{Deed: deedLink}); err != nil {
		return Reset{}, fmt.Errorf("reset: %w", err)
	}
	return Reset{p, joinPath + token, row.Expires}, nil
}

// notFoundAs says whom one could have meant.
func notFoundAs(ctx context.Context, st *store.Store, login string) error {
	all, err := st.People(ctx)
	if err != nil {
		return err
	}
	var heads []string
	for _, p := range all {
		if p.Role == string(auth.Coordinator) {
			heads = append(heads, p.Login)
		}
	}
	if len(all) == 0 {
		return fmt.Errorf("nobody has an account yet; 'dewclaw serve' prints the link for the first one")
	}
	return fmt.Errorf("nobody signs in as %q; the coordinators are: %s", login, strings.Join(heads, ", "))
}
