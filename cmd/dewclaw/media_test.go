package main

import (
	"encoding/binary"
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/cases"
)

// ownSchool is a data folder with a case that has a recording of its own.
func ownSchool(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	le := binary.LittleEndian
	var data []byte
	for i := range 8000 * 5 {
		data = le.AppendUint16(data, uint16(int16(9000*math.Sin(2*math.Pi*70*float64(i)/8000))))
	}
	wav := le.AppendUint32([]byte("RIFF"), uint32(36+len(data)))
	wav = append(wav, "WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00\x40\x1f\x00\x00\x80\x3e\x00\x00\x02\x00\x10\x00data"...)
	wav = append(le.AppendUint32(wav, uint32(len(data))), data...)
	text := strings.Replace(string(cases.Builtin().Case("tansy").Source), "case: tansy", "case: willow", 1)
	text = strings.Replace(text, "heart.rhythm: sinus arrhythmia", "heart.rhythm: regular", 1)
	text += "media:\n  heart.auscultate@left apex: {file: apex.wav, rate: 92, consent: by letter, licence: our own}\n"
	for name, data := range map[string][]byte{"cases/willow.yaml": []byte(text), "media/apex.wav": wav} {
		name = filepath.Join(dir, "library", name)
		require.NoError(t, os.MkdirAll(filepath.Dir(name), 0o700))
		require.NoError(t, os.WriteFile(name, data, 0o600))
	}
	return dir
}

const ofWillow = "heart.auscultate@left apex: sound apex.wav, 92 a minute; consent: by letter; licence: our own"

// A case is checked with the media that lie beside it, and those that it uses
// are told with consent and licence.
func TestCheckTellsOfMedia(t *testing.T) {
	school := ownSchool(t)
	library := filepath.Join(school, "library")
	willow := filepath.Join(library, "cases", "willow.yaml")
	code, out, errs := called(t, "check", willow)
	require.Equal(t, 0, code, out+errs)
	require.Equal(t, willow+": "+ofWillow+"\n1 checked, no problem\n", out)

	code, out, errs = called(t, "check", library)
	require.Equal(t, 0, code, out+errs)
	require.Equal(t, "willow: "+ofWillow+"\n2 checked, no problem\n", out)

	spare := filepath.Join(library, "media", "spare.jpg")
	require.NoError(t, os.WriteFile(spare, []byte("x"), 0o600))
	code, out, _ = called(t, "check", library)
	require.Equal(t, 1, code)
	require.Contains(t, out, spare+":1:1: no case uses this file; name it under media: in a case, or take it out of the folder\n")

	apex := filepath.Join(library, "media", "apex.wav")
	require.NoError(t, os.WriteFile(apex, []byte("%PDF-1.7"), 0o600))
	for _, name := range []string{willow, library} {
		code, out, _ = called(t, "check", name)
		require.Equal(t, 1, code)
		require.Regexp(t, `willow\.yaml:\d+:32: apex\.wav: it is no WAV recording but a PDF; save it as WAV \(PCM\)\n`, out)
		require.NotContains(t, out, "by letter")
	}
	code, _, errs = called(t, "check", t.TempDir())
	require.Equal(t, 1, code)
	require.Contains(t, errs, "is a folder without cases/, catalogue/ or media/")
}

// The list of cases has a column of media where there are some, and no such
// column elsewhere.
func TestCasesTellsOfMedia(t *testing.T) {
	code, out, errs := called(t, "cases", "--format", "csv", "--data", ownSchool(t))
	require.Equal(t, 0, code, errs)
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	require.NoError(t, err)
	require.Equal(t, "media", rows[0][len(rows[0])-1])
	told := 0
	for _, r := range rows[1:] {
		if cell := r[len(r)-1]; cell != "" {
			told++
			require.Equal(t, ofWillow, cell)
		}
	}
	require.Equal(t, 1, told)
	_, out, _ = called(t, "cases", "--format", "csv")
	require.NotContains(t, strings.Split(out, "\n")[0], "media")
	code, _, errs = called(t, "cases", "--data", "nowhere")
	require.Equal(t, 1, code)
	require.Contains(t, errs, "--data: there is no folder nowhere")
}

// Robots visit a patient with a recording like any other: its rate is counted.
func TestCheckSeedsWithMedia(t *testing.T) {
	_, out, errs := called(t, "check", "--seeds", "2", filepath.Join(ownSchool(t), "library", "cases", "willow.yaml"))
	require.Contains(t, out, "1 cases, 2 seeds each", errs)
	require.NotContains(t, out, "no patient is drawn")
	require.NotContains(t, out, "vitals/heart", "what does not hold of the rate that is counted")
}
