package solid

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
)

// Work is shared out face by face and region by region. Who does what depends
// on the machine and on chance; what comes of it does not, because nothing in
// the mesh depends on the numbers of points.

// mostWorkers bounds the copies of the points of a build.
const mostWorkers = 8

// inParallel calls do for 0 to workers-1 at a time, waits for all, and panics
// with what one of them panicked with.
func inParallel(workers int, do func(worker int)) {
	var all sync.WaitGroup
	var failed atomic.Pointer[any]
	for w := range workers {
		all.Go(func() {
			defer func() {
				if r := recover(); r != nil {
					failed.CompareAndSwap(nil, &r)
				}
			}()
			do(w)
		})
	}
	all.Wait()
	if r := failed.Load(); r != nil {
		panic(*r)
	}
}

// both calls a and b, at a time when there are many things to do.
func both(n int, a, b func()) {
	if n < 1<<10 || runtime.GOMAXPROCS(0) < 2 {
		a()
		b()
		return
	}
	inParallel(2, func(i int) { [2]func(){a, b}[i]() })
}

// pieces calls do for pieces of 0 to n-1 that follow each other, several at a
// time when they are long.
func pieces(n int, do func(piece, from, to int)) {
	workers := min(runtime.GOMAXPROCS(0), mostWorkers, n>>12)
	if workers < 2 {
		do(0, 0, n)
		return
	}
	inParallel(workers, func(w int) { do(w, n*w/workers, n*(w+1)/workers) })
}

// How many things a worker takes at a time: few that cost much, or many that
// cost little.
const (
	few  = 16
	many = 512
)

// shares calls do for all of 0 to n-1, some at a time, each worker with a
// kernel of its own that may read everything and add nothing.
func (k *kernel) shares(n, some int, do func(k *kernel, worker, i int)) {
	k.sharesBySize(n, some, nil, do)
}

// sharesBySize is shares for things of which some are large: these come first,
// one at a time, so that no worker is left with two of them.
func (k *kernel) sharesBySize(n, some int, size func(i int) int, do func(k *kernel, worker, i int)) {
	workers := min(runtime.GOMAXPROCS(0), mostWorkers, n/some)
	if workers < 2 {
		for i := range n {
			do(k, 0, i)
		}
		return
	}
	const large = 1 << 10
	var first []int
	isLarge := make([]bool, n)
	for i := 0; size != nil && i < n; i++ {
		if size(i) >= large {
			first, isLarge[i] = append(first, i), true
		}
	}
	views, spaces := make([]kernel, workers), make([]space, workers)
	var next, nextLarge atomic.Int64
	inParallel(workers, func(w int) {
		spaces[w] = *k.space
		spaces[w].exact = 0
		views[w] = *k
		views[w].space = &spaces[w]
		for {
			i := int(nextLarge.Add(1)) - 1
			if i >= len(first) {
				break
			}
			do(&views[w], w, first[i])
		}
		for {
			from := int(next.Add(int64(some))) - some
			if from >= n {
				return
			}
			for i := from; i < min(n, from+some); i++ {
				if !isLarge[i] {
					do(&views[w], w, i)
				}
			}
		}
	})
	for w := range spaces {
		k.exact += spaces[w].exact
	}
}

// fork returns a space that begins with what s holds and adds to itself only.
// While it is in use, s must not change.
func (s *space) fork() *space {
	n := len(s.pts)
	f := *s
	f.base, f.exact = s, 0
	f.pts, f.hom, f.chain = s.pts[:n:n], s.hom[:len(s.hom):len(s.hom)], s.chain[:n:n]
	f.triples, f.cells = tripleMap{}, tripleMap{}
	f.triples.grow(1 << 10)
	f.cells.grow(1 << 10)
	return &f
}

// join takes over what a fork has found. It returns the numbers that its
// points from first on now have.
func (s *space) join(f *space, first int) []int32 {
	to := make([]int32, len(f.pts)-first)
	for i := range to {
		p := f.pts[first+i]
		if p.h < 0 {
			to[i] = s.addGrid(int64(p.f[0]), int64(p.f[1]), int64(p.f[2]))
			continue
		}
		if to[i] = s.known(&p); to[i] >= 0 {
			continue
		}
		s.hom = append(s.hom, f.hom[p.h])
		p.h = int32(len(s.hom) - 1)
		to[i] = s.insert(cellOf(p.f), p)
	}
	for i, v := range f.triples.vals {
		if v == noValue {
			continue
		}
		if slot, found := s.triples.find(f.triples.keys[i]); !found {
			if int(v) >= first {
				v = to[int(v)-first]
			}
			s.triples.put(slot, f.triples.keys[i], v)
		}
	}
	s.exact += f.exact
	return to
}

// divideAll divides faces, several at a time when they are many.
func (k *kernel) divideAll(ctx context.Context, faces []int32, progress func(float64)) error {
	work := 0
	for _, f := range faces {
		work += len(k.meets[f])
	}
	workers := min(runtime.GOMAXPROCS(0), mostWorkers)
	if work < 1000 || workers < 2 {
		d := newDivider(k)
		for i, f := range faces {
			if i&63 == 0 {
				progress(float64(i) / float64(len(faces)))
			}
			if err := d.divide(ctx, f); err != nil {
				return err
			}
		}
		return nil
	}
	first := len(k.pts)
	kernels := make([]kernel, workers)
	errs := make([]error, workers)
	var next atomic.Int64
	inParallel(workers, func(w int) {
		kernels[w] = *k
		kernels[w].space = k.space.fork()
		kernels[w].sets = map[setSum][]int32{}
		d := newDivider(&kernels[w])
		for {
			i := int(next.Add(1)) - 1
			if i >= len(faces) || errs[w] != nil {
				break
			}
			if w == 0 && i&63 == 0 {
				progress(float64(i) / float64(len(faces)))
			}
			errs[w] = d.divide(ctx, faces[i])
			k.faces[faces[i]].by = int8(w)
		}
	})
	to := make([][]int32, workers)
	for w := range kernels {
		if errs[w] != nil {
			return errs[w]
		}
		to[w] = k.space.join(kernels[w].space, first)
		for s, leaves := range kernels[w].sets {
			k.sets[s] = leaves
		}
	}
	for _, f := range faces {
		F := &k.faces[f]
		for i := range F.cut {
			e := &F.cut[i]
			for _, v := range [2]*int32{&e.a, &e.b} {
				if int(*v) >= first {
					*v = to[F.by][int(*v)-first]
				}
			}
		}
	}
	return nil
}
