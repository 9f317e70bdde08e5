package exact

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

// The reference is math/big of the standard library.

func big128(a Int128) *big.Int {
	r := new(big.Int).Lsh(big.NewInt(a.Hi), 64)
	return r.Add(r, new(big.Int).SetUint64(a.Lo))
}

func random128(r *rand.Rand) Int128 {
	a := Int128{int64(r.Uint64()), r.Uint64()}
	s := r.IntN(128)
	for range s {
		a = Int128{a.Hi >> 1, a.Lo>>1 | uint64(a.Hi)<<63}
	}
	return a
}

func TestAgainstBig(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	two256 := new(big.Int).Lsh(big.NewInt(1), 256)
	wrap := func(x *big.Int) *big.Int {
		x = new(big.Int).Mod(x, two256)
		if x.Bit(255) == 1 {
			x.Sub(x, two256)
		}
		return x
	}
	for range 20000 {
		a, b, c := random128(r), random128(r), random128(r)
		A, B, C := big128(a), big128(b), big128(c)
		p := Mul128(a, b)
		if p.Big().Cmp(new(big.Int).Mul(A, B)) != 0 {
			t.Fatalf("Mul128(%v, %v) = %v", A, B, p.Big())
		}
		if p.Sign() != A.Sign()*B.Sign() {
			t.Fatalf("sign of %v", p.Big())
		}
		q := p.Mul128(c)
		if want := wrap(new(big.Int).Mul(p.Big(), C)); q.Big().Cmp(want) != 0 {
			t.Fatalf("%v * %v = %v, want %v", p.Big(), C, q.Big(), want)
		}
		if s := p.Mul64(int64(c.Lo)); s.Big().Cmp(wrap(new(big.Int).Mul(p.Big(), big.NewInt(int64(c.Lo))))) != 0 {
			t.Fatal("Mul64")
		}
		if s := p.Add(q); s.Big().Cmp(wrap(new(big.Int).Add(p.Big(), q.Big()))) != 0 {
			t.Fatal("Add")
		}
		if m := Mul64(int64(a.Lo), b.Hi); big128(m).Cmp(new(big.Int).Mul(big.NewInt(int64(a.Lo)), big.NewInt(b.Hi))) != 0 {
			t.Fatal("Mul64")
		}
		f, _ := new(big.Float).SetInt(p.Big()).Float64()
		if math.Abs(p.Float()-f) > math.Abs(f)*0x1p-51 {
			t.Fatalf("Float %v, want %v", p.Float(), f)
		}
		f, _ = new(big.Float).SetInt(A).Float64()
		if math.Abs(a.Float()-f) > math.Abs(f)*0x1p-52 {
			t.Fatalf("Float %v, want %v", a.Float(), f)
		}
		if g := int64(b.Lo >> 1); g > 0 {
			d, ok := a.DivExact(g)
			quo, rem := new(big.Int).QuoRem(A, big.NewInt(g), new(big.Int))
			if ok != (rem.Sign() == 0) || ok && big128(d).Cmp(quo) != 0 {
				t.Fatalf("DivExact(%v, %d)", A, g)
			}
		}
		if v, ok := a.Int64(); ok != A.IsInt64() || ok && v != A.Int64() {
			t.Fatal("Int64")
		}
	}
}

// TestRatio compares with the correctly rounded division of math/big.
func TestRatio(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for i := range 200000 {
		n, d := Mul128(random128(r), random128(r)), Mul128(random128(r), random128(r))
		if d.Sign() < 0 {
			d = d.Neg()
		}
		if d.Sign() == 0 {
			continue
		}
		switch i % 4 {
		case 1: // whole
			n = d.Mul64(r.Int64N(1000) - 500)
		case 2: // exactly between two numbers
			d = Int256{1 << r.IntN(40)}
			n = Int256{1<<53 + 2*r.Uint64N(1<<52) + 1}.Mul64(1 - 2*r.Int64N(2))
		case 3: // close to a short number
			d = Int256{r.Uint64() >> 1, r.Uint64() >> 2, r.Uint64() >> 40}
			n = d.Mul64(r.Int64N(1 << 20)).Add(Int256{uint64(r.IntN(3))})
		}
		want, _ := new(big.Rat).SetFrac(n.Big(), d.Big()).Float64()
		if got := Ratio(n, d); got != want {
			t.Fatalf("%v / %v = %v, want %v", n.Big(), d.Big(), got, want)
		}
	}
}
