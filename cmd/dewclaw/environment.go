package main

import (
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// envPrefix begins the names of our variables.
const envPrefix = "DEWCLAW_"

// Where user and password of the mail server stand, where it asks for them: never
// on the command line, which every user of the machine can read.
const (
	mailUser     = envPrefix + "SMTP_USER"
	mailPassword = envPrefix + "SMTP_PASSWORD"
)

// envName is the variable that says the same as a flag: DEWCLAW_SMTP_FROM for smtp-from.
func envName(flag string) string {
	return envPrefix + strings.ToUpper(strings.ReplaceAll(flag, "-", "_"))
}

// withEnvironment lets each flag of a command stand in the environment instead, and
// has the help name the variable. A flag that is written wins; a variable that is
// empty says nothing.
func withEnvironment(cmd *cobra.Command) *cobra.Command {
	cmd.Flags().VisitAll(func(f *pflag.Flag) { f.Usage += " [" + envName(f.Name) + "]" })
	cmd.PreRunE = func(cmd *cobra.Command, _ []string) error { return fromEnvironment(cmd) }
	return cmd
}

// fromEnvironment sets the flags that were not written.
func fromEnvironment(cmd *cobra.Command) (err error) {
	cmd.LocalFlags().VisitAll(func(f *pflag.Flag) {
		text := os.Getenv(envName(f.Name))
		if err != nil || f.Changed || text == "" || f.Name == "help" {
			return
		}
		if bad := cmd.Flags().Set(f.Name, text); bad != nil {
			err = &usageError{fmt.Errorf("%s in the environment: %w; it stands for --%s, see 'dewclaw %s --help'", envName(f.Name), bad, f.Name, cmd.Name())}
		}
	})
	return err
}

// testPrefix begins the variables of the tests, which are nobody's mistyped setting.
const testPrefix = envPrefix + "TEST_"

// strangers are the variables that begin as ours do and stand for no flag of any
// command: mistyped, most likely.
func strangers(root *cobra.Command, environ []string) []string {
	known := map[string]bool{mailUser: true, mailPassword: true}
	for _, cmd := range root.Commands() {
		cmd.Flags().VisitAll(func(f *pflag.Flag) { known[envName(f.Name)] = true })
	}
	var out []string
	for _, pair := range environ {
		name, _, _ := strings.Cut(pair, "=")
		if strings.HasPrefix(name, envPrefix) && !known[name] && !strings.HasPrefix(name, testPrefix) {
			out = append(out, name)
		}
	}
	return out
}
