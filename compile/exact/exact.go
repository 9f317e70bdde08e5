// Package exact holds signed integers of 128 and 256 bits, just large enough
// for the exact geometric predicates of package solid. Operations wrap around
// silently; callers bound their operands so that they never do.
package exact

import (
	"math"
	"math/big"
	"math/bits"
)

// Int128 is a signed 128-bit integer in two's complement.
type Int128 struct {
	Hi int64
	Lo uint64
}

// Int256 is a signed 256-bit integer in two's complement, least significant
// word first.
type Int256 [4]uint64

// I128 widens a.
func I128(a int64) Int128 { return Int128{a >> 63, uint64(a)} }

// Mul64 returns the full product of two 64-bit integers.
func Mul64(a, b int64) Int128 {
	hi, lo := bits.Mul64(uint64(a), uint64(b))
	return Int128{int64(hi) - (a>>63)&b - (b>>63)&a, lo}
}

// Add returns a + b.
func (a Int128) Add(b Int128) Int128 {
	lo, c := bits.Add64(a.Lo, b.Lo, 0)
	return Int128{a.Hi + b.Hi + int64(c), lo}
}

// Sub returns a - b.
func (a Int128) Sub(b Int128) Int128 {
	lo, c := bits.Sub64(a.Lo, b.Lo, 0)
	return Int128{a.Hi - b.Hi - int64(c), lo}
}

// Neg returns -a.
func (a Int128) Neg() Int128 { return Int128{}.Sub(a) }

// Sign returns -1, 0 or +1.
func (a Int128) Sign() int {
	switch {
	case a.Hi < 0:
		return -1
	case a.Hi == 0 && a.Lo == 0:
		return 0
	}
	return 1
}

// Float returns a as a float64 with a relative error of at most 2^-52.
func (a Int128) Float() float64 {
	if a.Hi < 0 {
		return -a.Neg().Float()
	}
	return float64(float64(a.Hi)*0x1p64) + float64(a.Lo)
}

// Int64 returns a as an int64 and whether it fits.
func (a Int128) Int64() (int64, bool) { return int64(a.Lo), a.Hi == int64(a.Lo)>>63 }

// DivExact returns a/g and true when g > 0 divides a.
func (a Int128) DivExact(g int64) (Int128, bool) {
	neg := a.Hi < 0
	if neg {
		a = a.Neg()
	}
	hi, r := bits.Div64(0, uint64(a.Hi), uint64(g))
	lo, r := bits.Div64(r, a.Lo, uint64(g))
	q := Int128{int64(hi), lo}
	if neg {
		q = q.Neg()
	}
	return q, r == 0
}

// Add returns a + b.
func (a Int256) Add(b Int256) (r Int256) {
	var c uint64
	r[0], c = bits.Add64(a[0], b[0], 0)
	r[1], c = bits.Add64(a[1], b[1], c)
	r[2], c = bits.Add64(a[2], b[2], c)
	r[3], _ = bits.Add64(a[3], b[3], c)
	return r
}

// Neg returns -a.
func (a Int256) Neg() (r Int256) {
	var c uint64
	r[0], c = bits.Sub64(0, a[0], 0)
	r[1], c = bits.Sub64(0, a[1], c)
	r[2], c = bits.Sub64(0, a[2], c)
	r[3], _ = bits.Sub64(0, a[3], c)
	return r
}

// Sign returns -1, 0 or +1.
func (a Int256) Sign() int {
	switch {
	case int64(a[3]) < 0:
		return -1
	case a[0]|a[1]|a[2]|a[3] == 0:
		return 0
	}
	return 1
}

// Float returns a as a float64 with a relative error of at most 2^-51.
func (a Int256) Float() float64 {
	if int64(a[3]) < 0 {
		return -a.Neg().Float()
	}
	f := float64(float64(a[3])*0x1p64) + float64(a[2])
	f = float64(f*0x1p64) + float64(a[1])
	return float64(f*0x1p64) + float64(a[0])
}

// Big returns a as a big.Int.
func (a Int256) Big() *big.Int {
	neg := int64(a[3]) < 0
	if neg {
		a = a.Neg()
	}
	var b [32]byte
	for i := range 4 {
		for j := range 8 {
			b[31-8*i-j] = byte(a[i] >> (8 * j))
		}
	}
	r := new(big.Int).SetBytes(b[:])
	if neg {
		r.Neg(r)
	}
	return r
}

// Mul128 returns the full product of two 128-bit integers.
func Mul128(a, b Int128) Int256 {
	neg := false
	if a.Hi < 0 {
		a, neg = a.Neg(), !neg
	}
	if b.Hi < 0 {
		b, neg = b.Neg(), !neg
	}
	ah, bh := uint64(a.Hi), uint64(b.Hi)
	var r Int256
	h0, l0 := bits.Mul64(a.Lo, b.Lo)
	r[0] = l0
	if ah|bh == 0 {
		r[1] = h0
	} else {
		h1, l1 := bits.Mul64(a.Lo, bh)
		h2, l2 := bits.Mul64(ah, b.Lo)
		h3, l3 := bits.Mul64(ah, bh)
		var c uint64
		r[1], c = bits.Add64(h0, l1, 0)
		r[2], c = bits.Add64(h1, l3, c)
		r[3] = h3 + c
		r[1], c = bits.Add64(r[1], l2, 0)
		r[2], c = bits.Add64(r[2], h2, c)
		r[3] += c
	}
	if neg {
		return r.Neg()
	}
	return r
}

// Mul64 returns a·b modulo 2^256.
func (a Int256) Mul64(b int64) Int256 {
	u := uint64(b)
	if b < 0 {
		u = -u
	}
	r := a.mulU(u)
	if b < 0 {
		return r.Neg()
	}
	return r
}

// Mul128 returns a·b modulo 2^256.
func (a Int256) Mul128(b Int128) Int256 {
	neg := b.Hi < 0
	if neg {
		b = b.Neg()
	}
	r := a.mulU(b.Lo)
	if b.Hi != 0 {
		h := a.mulU(uint64(b.Hi))
		r = r.Add(Int256{0, h[0], h[1], h[2]})
	}
	if neg {
		return r.Neg()
	}
	return r
}

func (a Int256) mulU(u uint64) (r Int256) {
	h0, l0 := bits.Mul64(a[0], u)
	h1, l1 := bits.Mul64(a[1], u)
	h2, l2 := bits.Mul64(a[2], u)
	var c uint64
	r[0] = l0
	r[1], c = bits.Add64(l1, h0, 0)
	r[2], c = bits.Add64(l2, h1, c)
	r[3] = a[3]*u + h2 + c
	return r
}

// Ratio returns the float64 nearest to n/d, for d > 0; of two as near, the
// one with an even last digit. Equal ratios give equal numbers, whatever n
// and d are.
func Ratio(n, d Int256) float64 {
	neg := int64(n[3]) < 0
	if neg {
		n = n.Neg()
	}
	if n == (Int256{}) {
		return 0
	}
	nh, nl, ne := n.top()
	dh, dl, de := d.top()
	e := ne - de
	if nh >= dh {
		nl = nl>>1 | nh<<63
		nh >>= 1
		e++
	}
	// The quotient has 64 digits, of which the last three can be off: one
	// digit cut from n and d each, and what dl takes away.
	q, _ := bits.Div64(nh, nl, dh)
	m, _ := bits.Mul64(q, dl)
	q -= m / dh
	const half, off = 1 << 10, 4
	var f float64
	if low := q & (2*half - 1); low-half+off <= 2*off { // too near to the middle to tell
		f, _ = new(big.Rat).SetFrac(n.Big(), d.Big()).Float64()
	} else {
		f = math.Ldexp(float64((q+half)>>11), e-64+11)
	}
	if neg {
		return -f
	}
	return f
}

// top returns the first 128 digits of a > 0, and the power of two that takes
// them to a.
func (a Int256) top() (hi, lo uint64, exp int) {
	i := 3
	for a[i] == 0 {
		i--
	}
	w := [3]uint64{a[i]}
	for j := 1; j < 3 && i-j >= 0; j++ {
		w[j] = a[i-j]
	}
	s := bits.LeadingZeros64(w[0])
	return w[0]<<s | w[1]>>(64-s), w[1]<<s | w[2]>>(64-s), 64*(i-1) - s
}
