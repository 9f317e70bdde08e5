package solid

import (
	"context"
	"math/rand/v2"
	"testing"
)

// bytesSource draws from a list of bytes, then goes on by chance.
type bytesSource struct {
	data []byte
	rest rand.PCG
}

func (s *bytesSource) Uint64() uint64 {
	if len(s.data) == 0 {
		return s.rest.Uint64() // IntN would wait for ever for other than zeros
	}
	b := uint64(s.data[0])
	s.data = s.data[1:]
	return b<<56 | b<<24 // both the high bits and the middle ones are drawn from
}

// FuzzTree builds the tree that the bytes tell and the same with one leaf
// changed, from nothing and by the cache.
func FuzzTree(f *testing.F) {
	f.Add([]byte("a post on a tube"))
	f.Add([]byte{0, 255, 3, 130, 7, 64, 90, 20, 41, 250, 17, 99, 5, 5, 200})
	r := rand.New(rand.NewPCG(1, 1))
	for range 8 {
		seed := make([]byte, 60)
		for i := range seed {
			seed[i] = byte(r.Uint32())
		}
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if len(data) > 200 {
			return
		}
		draw := rand.New(&bytesSource{data: data})
		odd := draw.IntN(2) == 1
		b := randomTree(draw, 1+draw.IntN(2), odd)
		c := NewCache(1 << 30)
		for range 2 {
			if _, err := checked(b); err != nil {
				t.Fatal(err)
			}
			cold, err := Build(context.Background(), b, Options{Tolerance: treeTolerance})
			warm, err2 := c.Build(context.Background(), "a", b, Options{Tolerance: treeTolerance})
			if err != err2 || err == nil && !sameMesh(cold, warm) {
				t.Fatalf("from nothing and by the cache differ: %v, %v", err, err2)
			}
			b = edit(draw, b, odd)
		}
	})
}
