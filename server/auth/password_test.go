package auth

import (
	"context"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"golang.org/x/crypto/argon2"
)

// cheap keeps the tests fast; the cost is not what they are about.
var cheap = Params{Memory: 64, Time: 1, Threads: 1}

func TestArgon2idMatchesThePublishedVector(t *testing.T) {
	// The reference C program's test.c (P-H-C/phc-winner-argon2, as of 2021) hashes
	// "password" with salt "somesalt", t=2, m=2^16, p=1, version 0x13; from memory.
	const phc = "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"
	right, _, err := NewHasher(Params{Memory: 65536, Time: 2, Threads: 1}).Verify(t.Context(), phc, "password")
	require.NoError(t, err)
	require.True(t, right)
	right, _, err = NewHasher(Params{}).Verify(t.Context(), phc, "Password")
	require.NoError(t, err)
	require.False(t, right)
}

func TestHashAndVerify(t *testing.T) {
	h := NewHasher(cheap)
	phc, err := h.Hash(t.Context(), "five small geese asleep")
	require.NoError(t, err)
	require.Regexp(t, `^\$argon2id\$v=19\$m=64,t=1,p=1\$[A-Za-z0-9+/]{22}\$[A-Za-z0-9+/]{43}$`, phc)
	another, err := h.Hash(t.Context(), "five small geese asleep")
	require.NoError(t, err)
	require.NotEqual(t, phc, another, "a salt of its own")

	for password, want := range map[string]bool{"five small geese asleep": true, "five small geese asleep ": false,
		"Five small geese asleep": false, "": false, strings.Repeat("x", 1<<20): false} {
		right, rehash, err := h.Verify(t.Context(), phc, password)
		require.NoError(t, err)
		require.Equal(t, want, right, "%.30q", password)
		require.False(t, rehash)
	}
	_, err = h.Hash(t.Context(), strings.Repeat("x", MaxPassword+1))
	require.ErrorAs(t, err, new(*WeakPassword))
}

func TestAPasswordIsTheSameOnAnyKeyboard(t *testing.T) {
	h := NewHasher(cheap)
	phc, err := h.Hash(t.Context(), "caf\u00e9 au lait sans sucre")
	require.NoError(t, err)
	right, _, err := h.Verify(t.Context(), phc, "cafe\u0301 au lait sans sucre")
	require.NoError(t, err)
	require.True(t, right)
}

func TestACheaperHashIsToBeMadeAnew(t *testing.T) {
	old, err := NewHasher(cheap).Hash(t.Context(), "five small geese asleep")
	require.NoError(t, err)
	dearer := NewHasher(Params{Memory: 128, Time: 1, Threads: 1})
	right, rehash, err := dearer.Verify(t.Context(), old, "five small geese asleep")
	require.NoError(t, err)
	require.True(t, right)
	require.True(t, rehash)
	right, rehash, err = dearer.Verify(t.Context(), old, "wrong")
	require.NoError(t, err)
	require.False(t, right)
	require.False(t, rehash, "nothing to make anew from a wrong password")
	dear, err := dearer.Hash(t.Context(), "five small geese asleep")
	require.NoError(t, err)
	_, rehash, err = NewHasher(cheap).Verify(t.Context(), dear, "five small geese asleep")
	require.NoError(t, err)
	require.False(t, rehash)
}

// The work is told by the memory it takes, which Argon2id fills wholly: a clock
// would tell of other programs too.
func TestNobodyIsNeverRightAndTakesAsMuchWork(t *testing.T) {
	const kib = 8192
	h := NewHasher(Params{Memory: kib, Time: 2, Threads: 1})
	phc, err := h.Hash(t.Context(), "five small geese asleep")
	require.NoError(t, err)
	real, _, _, err := parsePHC(phc)
	require.NoError(t, err)
	dummy, _, _, err := parsePHC(h.dummy())
	require.NoError(t, err)
	require.Equal(t, real, dummy, "memory, passes and threads")
	work := func(phc, password string) uint64 {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		right, _, err := h.Verify(t.Context(), phc, password)
		runtime.ReadMemStats(&after)
		require.NoError(t, err)
		require.False(t, right)
		return after.TotalAlloc - before.TotalAlloc
	}
	for _, nobody := range []uint64{work(phc, "a wrong password"), work("", "a wrong password"), work("", ""), work(phc, strings.Repeat("x", 1000))} {
		require.InEpsilon(t, kib*1024, nobody, .1)
	}
}

func TestDamagedHashesAreErrors(t *testing.T) {
	h := NewHasher(cheap)
	const salt, sum = "c29tZXNhbHQ", "CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc"
	for _, phc := range []string{
		"x", "$argon2i$v=19$m=64,t=1,p=1$" + salt + "$" + sum, "$argon2id$v=16$m=64,t=1,p=1$" + salt + "$" + sum,
		"$argon2id$v=19$m=64,t=0,p=1$" + salt + "$" + sum, "$argon2id$v=19$m=64,t=1,p=0$" + salt + "$" + sum,
		"$argon2id$v=19$m=4294967295,t=1,p=1$" + salt + "$" + sum, "$argon2id$v=19$m=64,t=9999,p=1$" + salt + "$" + sum,
		"$argon2id$v=19$m=64,t=1,p=300$" + salt + "$" + sum, "$argon2id$v=19$m=64$" + salt + "$" + sum,
		"$argon2id$v=19$m=64,t=1,p=1$!$" + sum, "$argon2id$v=19$m=64,t=1,p=1$" + salt + "$", "$argon2id$v=19$m=64,t=1,p=1$$" + sum,
	} {
		right, _, err := h.Verify(t.Context(), phc, "password")
		require.ErrorIs(t, err, ErrHash, phc)
		require.False(t, right)
	}
}

func TestHashesQueueUp(t *testing.T) {
	h := NewHasher(cheap)
	var group sync.WaitGroup
	for range together {
		require.NoError(t, h.enter(t.Context()))
	}
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Millisecond)
	defer cancel()
	_, _, err := h.Verify(ctx, "", "x")
	require.ErrorIs(t, err, context.DeadlineExceeded, "no third hash at a time")
	group.Go(func() { _, _, err = h.Verify(context.Background(), "", "x") })
	h.leave()
	group.Wait()
	require.NoError(t, err)
}

func TestDefaultCostIsOWASPs(t *testing.T) {
	// OWASP Password Storage Cheat Sheet: m=19456 (19 MiB), t=2, p=1 is among the least settings.
	phc, err := NewHasher(Params{}).Hash(t.Context(), "five small geese asleep")
	require.NoError(t, err)
	require.Contains(t, phc, "$m=19456,t=2,p=1$")
}

func TestWhichPasswordsMayBeChosen(t *testing.T) {
	own := []string{"ann.miller", "Ann Miller", "Riverside School"}
	for password, want := range map[string]string{
		"five small geese asleep":                    "",
		"gq7vTz!m2Lw#p9Kd":                           "",
		"839 402 771 650 218":                        "", // a long random number
		"плывёт лебедь у воды":                       "",
		"鵞鳥が五羽眠っている静かな池で":                            "", // 15 characters
		"short but sweet":                            "", // 15
		"short but swee":                             tooShort,
		"鵞鳥が五羽眠っている静かな池":                             tooShort, // 14 characters, 42 bytes
		"e\u0301e\u0301e\u0301e\u0301e\u0301e\u0301": tooShort, // combining marks are not characters of their own
		strings.Repeat("geese and ", 26):             tooLong,
		"bad \xff bytes in a text":                   notText,
		"aaaaaaaaaaaaaaaa":                           oneRun,
		"123456789012345678":                         oneRun,
		"abcdefghijklmnop":                           oneRun,
		"zyxwvutsrqponmlk":                           oneRun,
		"abababababababab":                           oneRun,
		"geesegeesegeese":                            oneRun,
		"passwordpassword":                           known,
		"Password12345678!":                          known,
		"qwertyuiopasdfghjkl":                        known,
		"correcthorsebatterystaple":                  known,
		"CorrectHorseBatteryStaple1":                 known,
		"ann.miller2026!!!!":                         known,
		"MillerAnnMiller!":                           known,
		"riverside school 26":                        known,
		"dewclaw-dewclaw-1":                          known,
		"veterinary2026!!":                           known,
		"iloveyou football":                          known,
	} {
		err := CheckPassword(password, own...)
		if want == "" {
			require.NoError(t, err, password)
			continue
		}
		var weak *WeakPassword
		require.ErrorAs(t, err, &weak, password)
		require.Equal(t, want, weak.Reason, password)
	}
}

func TestNobodysOwnWordsAreOnlyTheirs(t *testing.T) {
	require.NoError(t, CheckPassword("ann.miller2026 geese", "somebody"))
	require.NoError(t, CheckPassword("five small geese asleep", "", " ", "x"), "empty and tiny words block nothing")
}

func TestTheListIsFolded(t *testing.T) {
	require.Greater(t, len(common()), 80)
	for _, w := range common() {
		require.Equal(t, strings.ToLower(w), w)
	}
}

func BenchmarkHash(b *testing.B) {
	salt := make([]byte, saltBytes)
	for b.Loop() {
		argon2.IDKey([]byte("five small geese asleep"), salt, DefaultParams.Time, DefaultParams.Memory, DefaultParams.Threads, tagBytes)
	}
}
