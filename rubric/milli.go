package rubric

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// ErrNumber is returned for a text that is no plain decimal number.
var ErrNumber = errors.New("not a number")

// maxDigits bounds the digits before and after the decimal mark, so that no
// product of two quantities overflows.
const maxDigits = 9

// ParseMilli reads a plain decimal number, with a point or a comma, into
// thousandths, rounded half away from zero. Exponents, signs other than one
// leading minus, spaces and digits other than 0 to 9 are refused.
func ParseMilli(s string) (Milli, error) {
	body, neg := strings.CutPrefix(s, "-")
	whole, frac, marked := cutDecimal(body)
	if !digits(whole) || (marked && !digits(frac)) {
		return 0, fmt.Errorf("%w: %q; write digits such as 38.5", ErrNumber, clip(s))
	}
	n, err := strconv.ParseInt(whole, 10, 64)
	if err != nil {
		return 0, fmt.Errorf("%w: %q: %w", ErrNumber, clip(s), err)
	}
	m := Milli(n*1000 + thousandths(frac))
	if neg {
		m = -m
	}
	return m, nil
}

// cutDecimal splits at the first point or comma.
func cutDecimal(s string) (whole, frac string, marked bool) {
	i := strings.IndexAny(s, ".,")
	if i < 0 {
		return s, "", false
	}
	return s[:i], s[i+1:], true
}

func digits(s string) bool {
	if s == "" || len(s) > maxDigits {
		return false
	}
	for i := range len(s) {
		if s[i] < '0' || s[i] > '9' {
			return false
		}
	}
	return true
}

func thousandths(frac string) int64 {
	var n, place int64 = 0, 100
	for i := 0; i < len(frac) && i < 3; i++ {
		n += int64(frac[i]-'0') * place
		place /= 10
	}
	if len(frac) > 3 && frac[3] >= '5' {
		n++
	}
	return n
}

// clip shortens a stranger's text for an error message.
func clip(s string) string {
	if len(s) > 40 {
		return strings.ToValidUTF8(s[:40], "") + "..."
	}
	return s
}

// String writes the number with as many decimals as it needs.
func (m Milli) String() string { return thousandthsText(int64(m)) }

// String writes the points as a decimal number.
func (p Points) String() string { return thousandthsText(int64(p)) }

func thousandthsText(n int64) string {
	u := uint64(n)
	if n < 0 {
		u = -u
	}
	whole, frac := u/1000, u%1000
	buf := make([]byte, 0, 24)
	if n < 0 {
		buf = append(buf, '-')
	}
	buf = strconv.AppendUint(buf, whole, 10)
	if frac == 0 {
		return string(buf)
	}
	buf = append(buf, '.', byte('0'+frac/100), byte('0'+frac/10%10), byte('0'+frac%10))
	for buf[len(buf)-1] == '0' {
		buf = buf[:len(buf)-1]
	}
	return string(buf)
}

// MarshalJSON writes a decimal number: 87250 is 87.25.
func (p Points) MarshalJSON() ([]byte, error) { return []byte(p.String()), nil }

// UnmarshalJSON reads a plain decimal number with at most three decimals.
func (p *Points) UnmarshalJSON(b []byte) error {
	m, err := ParseMilli(string(b))
	if err != nil {
		return fmt.Errorf("points: %w", err)
	}
	*p = Points(m)
	return nil
}
