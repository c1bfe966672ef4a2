/* anchor_book.c - who makes an anchor, and who waits for it. */
#include "solve/anchor_book.h"

enum { UNMADE, IN_WORK, MADE };

anchor_book *anchor_book_create(const hl_design *design, size_t n)
{
    arena *memory = arena_create_paged();
    anchor_book *book = memory ? arena_take(memory, sizeof *book) : NULL;
    if (!book || pthread_mutex_init(&book->lock, NULL)) {
        arena_destroy(memory);
        return NULL;
    }
    if (pthread_cond_init(&book->news, NULL)) {
        pthread_mutex_destroy(&book->lock);
        arena_destroy(memory);
        return NULL;
    }
    book->memory = memory;
    book->design = design;
    book->users = 1;
    book->start = arena_array(memory, n, sizeof *book->start);
    book->state = arena_array(memory, n, sizeof *book->state);
    if (book->start && book->state && told_create(&book->told, memory, design)) {
        book->n = n;
        for (size_t i = 0; i < n; i++) atomic_init(&book->state[i], UNMADE);
        return book;
    }
    anchor_book_leave(book);
    return NULL;
}

anchor_book *anchor_book_join(anchor_book *book)
{
    pthread_mutex_lock(&book->lock);
    book->users++;
    pthread_mutex_unlock(&book->lock);
    return book;
}

void anchor_book_leave(anchor_book *book)
{
    if (!book) return;
    pthread_mutex_lock(&book->lock);
    size_t left = --book->users;
    pthread_mutex_unlock(&book->lock);
    if (left) return;
    for (size_t i = 0; i < book->n; i++) hl_start_destroy(book->start[i]);
    pthread_cond_destroy(&book->news);
    pthread_mutex_destroy(&book->lock);
    arena_destroy(book->memory);
}

bool anchor_book_claim(anchor_book *book, size_t index)
{
    atomic_int *state = &book->state[index];
    if (atomic_load_explicit(state, memory_order_acquire) == MADE) return false;
    pthread_mutex_lock(&book->lock);
    while (atomic_load_explicit(state, memory_order_relaxed) == IN_WORK)
        pthread_cond_wait(&book->news, &book->lock);
    bool ours = atomic_load_explicit(state, memory_order_relaxed) == UNMADE;
    if (ours) atomic_store_explicit(state, IN_WORK, memory_order_relaxed);
    pthread_mutex_unlock(&book->lock);
    return ours;
}

void anchor_book_publish(anchor_book *book, size_t index)
{
    pthread_mutex_lock(&book->lock);
    atomic_store_explicit(&book->state[index], MADE, memory_order_release);
    pthread_cond_broadcast(&book->news);
    pthread_mutex_unlock(&book->lock);
}
