package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"dewclaw/cases"
	"dewclaw/cases/robot"
	"dewclaw/rubric"
	"dewclaw/server"
	"dewclaw/server/auth"
	"dewclaw/server/store"
)

// demoFlags are the words of demo.
type demoFlags struct{ addr, data, password string }

// demoPeople are the accounts of the demonstration. Nobody real.
var demoPeople = []store.NewPerson{
	{Login: "student", Role: string(auth.Student), Name: "First Student"},
	{Login: "student2", Role: string(auth.Student), Name: "Second Student"},
	{Login: "instructor", Role: string(auth.Instructor), Name: "Demo Instructor"},
	{Login: "coordinator", Role: string(auth.Coordinator), Name: "Demo Coordinator"},
}

// demoVisits are the visits that student2 has made before: how well, and on which track.
var demoVisits = []struct {
	track string
	acts  func(*cases.Patient, rubric.Key) []rubric.Act
}{
	{"veterinary", typical(2, 11)},
	{"veterinary", robot.Ideal},
	{"technician", typical(4, 12)},
	{"veterinary", typical(3, 13)},
}

func typical(level int, seed uint64) func(*cases.Patient, rubric.Key) []rubric.Act {
	return func(p *cases.Patient, k rubric.Key) []rubric.Act { return robot.Typical(p, k, level, seed) }
}

func newDemoCommand() *cobra.Command {
	var f demoFlags
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "Try Dewclaw on this machine, with people and visits made up",
		Long: "Start a server on this machine with four made-up people and some visits already\n" +
			"debriefed, and print how to sign in. Nobody else can reach it.",
		Args: noWords,
		RunE: func(cmd *cobra.Command, _ []string) error { return demo(cmd.Context(), f, cmd.OutOrStdout()) },
	}
	cmd.Flags().StringVar(&f.addr, "addr", defaultAddr, "address to listen on; of this machine only")
	cmd.Flags().StringVar(&f.data, "data", "", "folder to keep the data in; a fresh temporary one if empty")
	cmd.Flags().StringVar(&f.password, "password", "", "password of all four; made up and printed if empty")
	return cmd
}

func demo(ctx context.Context, f demoFlags, out io.Writer) (err error) {
	loopback, err := isLoopback(f.addr)
	if err != nil {
		return &usageError{err}
	}
	if !loopback {
		return &usageError{fmt.Errorf("the demonstration is for this machine only and --addr %s is not; use %s, or 'dewclaw serve' for a school", f.addr, defaultAddr)}
	}
	if len(f.password) > auth.MaxPassword {
		return &usageError{fmt.Errorf("--password is longer than %d bytes", auth.MaxPassword)}
	}
	l, err := listen(f.addr)
	if err != nil {
		return err
	}
	s, fresh, err := openDemo(ctx, &f)
	if err != nil {
		return errors.Join(err, l.Close())
	}
	fmt.Fprintf(out, "Dewclaw answers on http://%s\n\nSign in as one of these, each with the password %s\n\n", l.Addr(), f.password)
	for _, p := range demoPeople {
		fmt.Fprintf(out, "  %-12s %s\n", p.Login, p.Name)
	}
	if fresh {
		fmt.Fprintf(out, "\nThe data is in %s and is removed at the end; --data DIR keeps it.\n", s.DataDir())
	} else {
		fmt.Fprintf(out, "\nThe data is kept in %s.\n", s.DataDir())
	}
	fmt.Fprintln(out, "Simulated patients, for teaching only. Ctrl-C ends it.")
	return errors.Join(s.Serve(ctx, l), s.Close())
}

// openDemo opens the server and fills it. fresh: its folder is temporary.
func openDemo(ctx context.Context, f *demoFlags) (s *server.Server, fresh bool, err error) {
	if f.password == "" {
		f.password = strings.ToLower(rand.Text()[:16])
	}
	fresh = f.data == ""
	if !fresh {
		if info, err := os.Stat(f.data); err == nil && !info.IsDir() {
			return nil, false, fmt.Errorf("--data %s is a file; name a folder, or leave it out for a temporary one", f.data)
		}
	}
	s, err = server.New(server.Config{Data: f.data})
	if err != nil {
		return nil, false, err
	}
	if err := fillDemo(ctx, s, f.password); err != nil {
		return nil, false, errors.Join(fmt.Errorf("fill the demonstration: %w", err), s.Close())
	}
	return s, fresh, nil
}

// fillDemo makes the people that are missing, gives all of them the password, and
// makes their cohorts and student2's visits once.
func fillDemo(ctx context.Context, s *server.Server, password string) error {
	phc, err := auth.NewHasher(auth.Params{}).Hash(ctx, password)
	if err != nil {
		return err
	}
	ids := map[string]string{}
	for _, n := range demoPeople {
		n.PasswordHash = phc
		p, err := s.Store().AddPerson(ctx, n)
		if errors.Is(err, store.ErrDuplicate) {
			if p, err = s.Store().PersonByLogin(ctx, n.Login); err == nil {
				err = s.Store().SetPassword(ctx, p.ID, phc)
			}
		}
		if err != nil {
			return err
		}
		ids[n.Login] = p.ID
	}
	if err := demoCohorts(ctx, s, ids); err != nil {
		return err
	}
	return demoHistory(ctx, s, ids["student2"])
}

// demoHistory plays the earlier visits, one patient after the other.
func demoHistory(ctx context.Context, s *server.Server, person string) error {
	before, err := s.Store().Attempts(ctx, store.Filter{Person: person, Limit: 1})
	if err != nil || len(before) > 0 {
		return err
	}
	for i, k := range s.Practice() {
		v := demoVisits[i%len(demoVisits)]
		if err := s.PlayVisit(ctx, person, k, v.track, v.acts); err != nil {
			return fmt.Errorf("visit to %s: %w", k, err)
		}
	}
	return nil
}
