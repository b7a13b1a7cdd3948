package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/pflag"
)

// options are the words of the call.
type options struct {
	Students     int           `json:"students"`
	Acts         string        `json:"acts"` // a second, as it was typed
	For          time.Duration `json:"for"`
	Sound        float64       `json:"sound_percent"`
	Picture      float64       `json:"picture_percent"`
	SignIns      int           `json:"sign_ins"`
	SignInsIn    time.Duration `json:"sign_ins_in"`
	Finishes     int           `json:"finishes"`
	FinishesIn   time.Duration `json:"finishes_in"`
	Seed         uint64        `json:"seed"`
	Database     string        `json:"-"` // may hold a password
	program      string
	data         string
	json         string
	load         load
	environment  []string // of the server, for tests
	checkAtATime int
}

func (o *options) add(f *pflag.FlagSet) {
	f.IntVar(&o.Students, "students", 300, "students who act, each in a visit of the own")
	f.StringVar(&o.Acts, "acts", "150", "acts a second of all together: 500, or 100-2000 for a load that rises in ten steps, or max for no time to think")
	f.DurationVar(&o.For, "for", time.Minute, "how long")
	f.Float64Var(&o.Sound, "sound", 10, "of a hundred acts, after how many a sound is listened to")
	f.Float64Var(&o.Picture, "picture", 3, "of a hundred acts, after how many a picture is looked at")
	f.IntVar(&o.SignIns, "sign-ins", 0, "other students who sign in meanwhile")
	f.DurationVar(&o.SignInsIn, "sign-ins-in", time.Minute, "within which time, from the start")
	f.IntVar(&o.Finishes, "finishes", 0, "whole visits that are handed in meanwhile")
	f.DurationVar(&o.FinishesIn, "finishes-in", 5*time.Second, "within which time, from the middle of the run")
	f.Uint64Var(&o.Seed, "seed", 1, "of the students' times to think")
	f.StringVar(&o.Database, "database", "", "postgres://... of an empty database in place of a SQLite file")
	f.StringVar(&o.program, "program", "", "the program to measure; dewclaw beside this one if empty")
	f.StringVar(&o.data, "data", "", "an empty folder for the school, kept at the end; a temporary one if empty")
	f.StringVar(&o.json, "json", "", "file for the report as JSON")
	o.checkAtATime = 8
}

// Bounds, beyond which a mistake is likelier than a wish.
const (
	mostStudents = 10_000
	mostRate     = 1_000_000
	longest      = 4 * time.Hour
)

// check reads the load and refuses what cannot be meant.
func (o *options) check() (err error) {
	if o.load, err = readLoad(o.Acts, o.For); err != nil {
		return err
	}
	for _, row := range []struct {
		wrong bool
		say   string
	}{
		{o.Students < 1 || o.Students > mostStudents, fmt.Sprintf("--students %d: 1 to %d", o.Students, mostStudents)},
		{o.For < time.Second || o.For > longest, fmt.Sprintf("--for %s: 1s to %s", o.For, longest)},
		{o.Sound < 0 || o.Sound > 100, "--sound is of a hundred acts: 0 to 100"},
		{o.Picture < 0 || o.Picture > 100, "--picture is of a hundred acts: 0 to 100"},
		{o.SignIns < 0 || o.SignIns > mostStudents, fmt.Sprintf("--sign-ins %d: 0 to %d", o.SignIns, mostStudents)},
		{o.Finishes < 0 || o.Finishes > mostStudents, fmt.Sprintf("--finishes %d: 0 to %d", o.Finishes, mostStudents)},
		{o.SignIns > 0 && (o.SignInsIn <= 0 || o.SignInsIn > o.For), "--sign-ins-in is longer than the run, or nothing"},
		{o.Finishes > 0 && (o.FinishesIn <= 0 || o.FinishesIn > o.For/2), "--finishes-in is longer than half the run, or nothing"},
	} {
		if row.wrong {
			return errors.New(row.say)
		}
	}
	return o.findProgram()
}

// findProgram looks for the program beside this one.
func (o *options) findProgram() error {
	if o.program == "" {
		own, err := os.Executable()
		if err != nil {
			return fmt.Errorf("where this program is: %w", err)
		}
		o.program = filepath.Join(filepath.Dir(own), "dewclaw")
	}
	if info, err := os.Stat(o.program); err != nil || info.IsDir() {
		return fmt.Errorf("there is no program %s to measure; build both with 'go build -o bin/ ./cmd/dewclaw ./cmd/examhall', or name it with --program", o.program)
	}
	return nil
}

// command is the call as it is repeated.
func (o *options) command() string {
	text := fmt.Sprintf("examhall --students %d --acts %s --for %s --sound %g --picture %g", o.Students, o.Acts, o.For, o.Sound, o.Picture)
	if o.SignIns > 0 {
		text += fmt.Sprintf(" --sign-ins %d --sign-ins-in %s", o.SignIns, o.SignInsIn)
	}
	if o.Finishes > 0 {
		text += fmt.Sprintf(" --finishes %d --finishes-in %s", o.Finishes, o.FinishesIn)
	}
	if o.Database != "" {
		text += " --database postgres://..."
	}
	return text + fmt.Sprintf(" --seed %d", o.Seed)
}

// load is how many acts a second are due.
type load struct {
	from, to float64
	steps    int // 1: the same all the time
	step     time.Duration
	most     bool // no time to think: the next act follows the answer
}

const risingSteps = 10

func readLoad(text string, whole time.Duration) (load, error) {
	if text == "max" {
		return load{steps: 1, step: whole, most: true}, nil
	}
	low, high, rises := strings.Cut(text, "-")
	from, err := readRate(low)
	l := load{from: from, to: from, steps: 1, step: whole}
	if err == nil && rises {
		l.to, err = readRate(high)
		l.steps, l.step = risingSteps, whole/risingSteps
	}
	if err != nil {
		return load{}, fmt.Errorf("--acts %q: a number such as 500, two such as 100-2000, or max", text)
	}
	return l, nil
}

func readRate(text string) (float64, error) {
	n, err := strconv.ParseFloat(text, 64)
	if err == nil && (n <= 0 || n > mostRate) {
		err = strconv.ErrRange
	}
	return n, err
}

// at says in which step a time of the run is and how many acts a second are due then.
func (l load) at(t time.Duration) (step int, rate float64) {
	step = max(0, min(l.steps-1, int(t/l.step)))
	if l.steps == 1 {
		return step, l.from
	}
	return step, l.from + (l.to-l.from)*float64(step)/float64(l.steps-1)
}

// acts are all that are due, about; of a load without end, what a machine may take.
func (l load) acts() float64 {
	if l.most {
		return 20_000 * l.step.Seconds()
	}
	return (l.from + l.to) / 2 * float64(l.steps) * l.step.Seconds()
}
