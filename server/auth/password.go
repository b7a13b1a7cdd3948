package auth

import (
	"context"
	"crypto/rand"
	"crypto/subtle"
	"encoding/base64"
	"errors"
	"fmt"
	"strings"
	"sync"

	"golang.org/x/crypto/argon2"
	"golang.org/x/text/unicode/norm"
)

// MaxPassword is the longest password taken, in bytes.
const MaxPassword = 256

const (
	saltBytes = 16 // RFC 9106, section 3.1: 128 bits suffice for any application
	tagBytes  = 32
	together  = 2 // hashes at the same time: each holds Params.Memory
)

// ErrHash is returned for a stored hash that is not an Argon2id PHC text with
// sane parameters.
var ErrHash = errors.New("not an Argon2id hash")

// Params is the cost of one hash.
type Params struct {
	Memory  uint32 // KiB
	Time    uint32 // passes
	Threads uint8
}

// DefaultParams is the least of OWASP's Password Storage Cheat Sheet for
// Argon2id: 19 MiB, two passes, one lane.
var DefaultParams = Params{Memory: 19456, Time: 2, Threads: 1}

// bounds for a hash read from the database, so that a bad row cannot eat the machine.
var mostParams = Params{Memory: 1 << 20, Time: 16, Threads: 16}

// Hasher hashes and verifies passwords. It is safe for concurrent use; at most
// two hashes are computed at a time and the others wait.
type Hasher struct {
	params Params
	slots  chan struct{}
	dummy  func() string
}

// NewHasher returns a hasher with this cost; zero Params are DefaultParams.
func NewHasher(p Params) *Hasher {
	if p == (Params{}) {
		p = DefaultParams
	}
	h := &Hasher{params: p, slots: make(chan struct{}, together)}
	h.dummy = sync.OnceValue(func() string { return h.phc(rand.Text()) })
	return h
}

// Hash returns the PHC text of a password. It does not judge it: see CheckPassword.
func (h *Hasher) Hash(ctx context.Context, password string) (string, error) {
	if len(password) > MaxPassword {
		return "", fmt.Errorf("hash: %w", &WeakPassword{tooLong})
	}
	if err := h.enter(ctx); err != nil {
		return "", fmt.Errorf("hash: %w", err)
	}
	defer h.leave()
	return h.phc(password), nil
}

// Verify reports whether password is that of the stored hash, and whether the
// hash is cheaper than today's cost and should be made anew. An empty hash
// (nobody of that login, or no password chosen yet) takes as long as any other
// and is never right.
func (h *Hasher) Verify(ctx context.Context, phc, password string) (right, rehash bool, err error) {
	if err := h.enter(ctx); err != nil {
		return false, false, fmt.Errorf("verify: %w", err)
	}
	defer h.leave()
	nobody := phc == "" || len(password) > MaxPassword
	if nobody {
		phc, password = h.dummy(), ""
	}
	p, salt, want, err := parsePHC(phc)
	if err != nil {
		return false, false, fmt.Errorf("verify: %w", err)
	}
	got := tag(password, salt, p, uint32(len(want)))
	right = subtle.ConstantTimeCompare(got, want) == 1 && !nobody
	cheaper := p.Memory < h.params.Memory || p.Time < h.params.Time || len(want) < tagBytes
	return right, right && cheaper, nil
}

func (h *Hasher) enter(ctx context.Context) error {
	select {
	case h.slots <- struct{}{}:
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (h *Hasher) leave() { <-h.slots }

func (h *Hasher) phc(password string) string {
	salt := make([]byte, saltBytes)
	_, _ = rand.Read(salt) // never fails: crypto/rand ends the program instead
	b64 := base64.RawStdEncoding
	return fmt.Sprintf("$argon2id$v=%d$m=%d,t=%d,p=%d$%s$%s", argon2.Version,
		h.params.Memory, h.params.Time, h.params.Threads,
		b64.EncodeToString(salt), b64.EncodeToString(tag(password, salt, h.params, tagBytes)))
}

// tag normalises once, so that the same characters typed on another keyboard
// are the same password.
func tag(password string, salt []byte, p Params, n uint32) []byte {
	return argon2.IDKey(norm.NFC.Bytes([]byte(password)), salt, p.Time, p.Memory, p.Threads, n)
}

func parsePHC(text string) (p Params, salt, sum []byte, err error) {
	parts := strings.Split(text, "$")
	if len(parts) != 6 || parts[0] != "" || parts[1] != "argon2id" || parts[2] != fmt.Sprintf("v=%d", argon2.Version) {
		return p, nil, nil, ErrHash
	}
	if _, err := fmt.Sscanf(parts[3], "m=%d,t=%d,p=%d", &p.Memory, &p.Time, &p.Threads); err != nil {
		return p, nil, nil, fmt.Errorf("%w: %w", ErrHash, err)
	}
	salt, err1 := base64.RawStdEncoding.DecodeString(parts[4])
	sum, err2 := base64.RawStdEncoding.DecodeString(parts[5])
	if err := errors.Join(err1, err2); err != nil {
		return p, nil, nil, fmt.Errorf("%w: %w", ErrHash, err)
	}
	sane := p.Time >= 1 && p.Threads >= 1 && p.Memory >= 8 &&
		p.Time <= mostParams.Time && p.Threads <= mostParams.Threads && p.Memory <= mostParams.Memory &&
		len(salt) >= 8 && len(salt) <= 64 && len(sum) >= 16 && len(sum) <= 64
	if !sane {
		return p, nil, nil, ErrHash
	}
	return p, salt, sum, nil
}
