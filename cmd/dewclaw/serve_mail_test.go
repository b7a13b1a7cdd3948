package main

import (
	"log/slog"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/server"
)

func TestMailFlags(t *testing.T) {
	dir := t.TempDir()
	write := func(name, text string) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
		return path
	}
	const host, from = "mail.example.edu:587", "Dewclaw <dewclaw@example.edu>"
	got, err := mailFlags{}.mail()
	require.NoError(t, err)
	require.Equal(t, server.Mail{}, got)
	t.Setenv(mailUser, "dewclaw")
	t.Setenv(mailPassword, "open sesame")
	got, err = mailFlags{host, from, ""}.mail()
	require.NoError(t, err)
	require.Equal(t, server.Mail{Host: host, From: from, User: "dewclaw", Password: "open sesame"}, got)
	got, err = mailFlags{host, from, write("good", "poster\r\n two words \r\n")}.mail()
	require.NoError(t, err)
	require.Equal(t, server.Mail{Host: host, From: from, User: "poster", Password: " two words "}, got)
	for _, f := range []mailFlags{{host, "", ""}, {"", from, ""}, {host, from, write("short", "poster\n")}, {host, from, write("long", "a\nb\nc\n")}, {host, from, filepath.Join(dir, "none")}} {
		_, err := f.mail()
		require.Error(t, err, "%+v", f)
	}
	_, err = serveFlags{addr: defaultAddr, data: dir, mail: mailFlags{host, from, ""}}.config(slog.New(slog.DiscardHandler))
	require.ErrorContains(t, err, "--url")
}
