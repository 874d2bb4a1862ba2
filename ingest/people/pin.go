package people

import (
	"errors"
	"fmt"
	"maps"
	"strings"
	"time"

	"golang.org/x/crypto/bcrypt"
)

// UsualCost is bcrypt's cost for a new PIN: about a twentieth of a second on a
// bench's computer. MostCost is the highest that is believed, about a second,
// so that no journal can hold a bench up.
const (
	UsualCost = bcrypt.DefaultCost
	LeastCost = bcrypt.MinCost // for tests
	MostCost  = 14
)

const leastPIN, mostPIN = 4, 12 // digits

// HashPIN checks a new PIN and gives its hash, made at a cost from LeastCost to
// MostCost.
func HashPIN(pin string, cost int) (string, error) {
	if len(pin) < leastPIN || len(pin) > mostPIN || strings.Trim(pin, "0123456789") != "" {
		return "", fmt.Errorf("a PIN is %d to %d digits: choose such a one", leastPIN, mostPIN)
	}
	if strings.Count(pin, pin[:1]) == len(pin) {
		return "", errors.New("this PIN is one digit over and over: choose another")
	}
	if cost < LeastCost || cost > MostCost {
		return "", fmt.Errorf("the cost of a PIN's hash is %d: give one from %d to %d", cost, LeastCost, MostCost)
	}
	hash, err := bcrypt.GenerateFromPassword([]byte(pin), cost)
	if err != nil {
		return "", fmt.Errorf("the PIN cannot be kept: %w", err)
	}
	return string(hash), nil
}

// hashLetters are all that bcrypt writes.
const hashLetters = "$./ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789"

// checkHash refuses what is no hash of a PIN, or one that takes too long.
func checkHash(hash string) error {
	if hash == "" {
		return nil
	}
	cost, err := bcrypt.Cost([]byte(hash))
	if err != nil || len(hash) != 60 || strings.ContainsFunc(hash, func(r rune) bool { return !strings.ContainsRune(hashLetters, r) }) {
		return errors.New("what is kept as the PIN's hash is none: set the PIN anew")
	}
	if cost > MostCost {
		return fmt.Errorf("the PIN's hash has cost %d, and at most %d is believed: set the PIN anew", cost, MostCost)
	}
	return nil
}

// Limits say how often a PIN may be tried.
type Limits struct {
	Tries int           // wrong ones in a row
	Wait  time.Duration // then, counted from the last wrong one; nought is no limit
}

// Usual are the limits of a bench: five tries, then one a minute.
func Usual() Limits { return Limits{Tries: 5, Wait: time.Minute} }

// Tries is how often PINs were tried in vain. It is never changed: Sign gives
// the next one. It is kept while the program runs, and no fact.
type Tries struct {
	limits Limits
	wrong  map[string]wrong
}

type wrong struct {
	count int
	last  time.Time
}

// NewTries begins with none.
func NewTries(l Limits) Tries { return Tries{limits: l} }

// ErrWait: too many wrong PINs, so that none is looked at for a while.
var ErrWait = errors.New("too many wrong PINs")

// ErrWrongPIN is a PIN that is not the person's.
var ErrWrongPIN = errors.New("the PIN is wrong")

// open tells whether a PIN may be tried now. A clock that was set back does not
// hold anyone up.
func (t Tries) open(initials string, at time.Time) error {
	w := t.wrong[initials]
	passed := at.Sub(w.last)
	if w.count < t.limits.Tries || passed < 0 || passed >= t.limits.Wait {
		return nil
	}
	left := (t.limits.Wait - passed).Truncate(time.Second) + time.Second
	return fmt.Errorf("%s: %w: wait %s, then try again, or ask a lead to set a new one (shimwright people pin)", initials, ErrWait, left)
}

// after is the tries after one more.
func (t Tries) after(initials string, at time.Time, right bool) Tries {
	n := Tries{limits: t.limits, wrong: maps.Clone(t.wrong)}
	if n.wrong == nil {
		n.wrong = map[string]wrong{}
	}
	if right {
		delete(n.wrong, initials)
		return n
	}
	n.wrong[initials] = wrong{n.wrong[initials].count + 1, at}
	return n
}

// check tries a PIN. Its error says what to do.
func (t Tries) check(who Person, pin string, at time.Time) (Tries, error) {
	if pin == "" {
		return t, fmt.Errorf("%s has a PIN: write it too", who.Initials)
	}
	if err := t.open(who.Initials, at); err != nil {
		return t, err
	}
	if bcrypt.CompareHashAndPassword([]byte(who.hash), []byte(pin)) == nil {
		return t.after(who.Initials, at, true), nil
	}
	t = t.after(who.Initials, at, false)
	left := t.limits.Tries - t.wrong[who.Initials].count
	switch {
	case t.limits.Wait <= 0:
		return t, fmt.Errorf("%s: %w: write it again", who.Initials, ErrWrongPIN)
	case left <= 0:
		return t, fmt.Errorf("%s: %w: wait %s before the next try", who.Initials, ErrWrongPIN, t.limits.Wait)
	}
	return t, fmt.Errorf("%s: %w: write it again, %d more before a wait", who.Initials, ErrWrongPIN, left)
}
