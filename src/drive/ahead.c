/* SPDX-License-Identifier: GPL-3.0-or-later */
/* What the sound is told: the cues of the coming minute if no press comes, those just said, and
 * what stands unanswered now. On the drive's thread. */
#include "inside.h"

#include <string.h>

#include "speak.h"

/* How often an unanswered cue is repeated. What harms the film while it waits hurries; a bath that
 * may run long, or a call back from a long rest, only reminds. Our own choice. */
enum { HURRY_MS = 2000, REMIND_MS = 10000, HANG_MS = 1500 };

/* Where nobody sees the run and perhaps nobody is there. */
enum { ALONE_MS = 60000 };

/* A cue as old as the limit at which a session calls it late may still be on its way to the sound.
 */
enum { JUST_SAID_MS = 500 };

void ws_ringer_hand(struct ws_ringer *ringer, int tank, const struct ws_ring_list *list)
{
    struct ws_ring_list *handed = &ringer->handed[tank];

    pthread_mutex_lock(&ringer->lock);
    handed->items = list->items;
    handed->serial = list->serial;
    handed->late_ns = list->late_ns;
    handed->hush = handed->hush || list->hush;
    handed->several = list->several;
    memcpy(handed->film, list->film, sizeof handed->film);
    memcpy(handed->item, list->item, (size_t)list->items * sizeof list->item[0]);
    ringer->version[tank]++;
    pthread_mutex_unlock(&ringer->lock);
    ws_wait_wake(&ringer->wait);
}

bool ws_ringer_reply(struct ws_ringer *ringer, int tank, const struct ws_ring_item *item)
{
    if (atomic_load(&ringer->no_thread))
        return item->cue.kind < WS_CUE_KINDS;
    pthread_mutex_lock(&ringer->lock);
    ringer->reply = *item;
    ringer->reply_tank = tank;
    ringer->replies++;
    pthread_mutex_unlock(&ringer->lock);
    ws_wait_wake(&ringer->wait);
    return false;
}

/* A device that takes longer to come back from one call hangs; it is played less than a second
 * ahead, so it has been silent by then. On a fast clock its own seconds count. */
int64_t ws_ringer_hangs_ns(const struct ws_ringer *ringer)
{
    int64_t since = atomic_load(&ringer->busy_ns);

    return since == 0 ? INT64_MAX
                      : since + ws_clock_span_ns(ringer->wait.clock, HANG_MS * WS_NS_IN_MS);
}

static bool hangs(const struct ws_ringer *ringer)
{
    return ws_clock_boot_ns(ringer->wait.clock) >= ws_ringer_hangs_ns(ringer);
}

bool ws_ringer_is_out(const struct ws_ringer *ringer)
{
    return atomic_load(&ringer->no_thread) || hangs(ringer);
}

void ws_ringer_look(struct ws_ringer *ringer, struct ws_ear *ear)
{
    pthread_mutex_lock(&ringer->lock);
    *ear = ringer->ear;
    ear->volume_percent = ringer->voice.volume_percent;
    pthread_mutex_unlock(&ringer->lock);
    if (ear->state != WS_EAR_NONE && hangs(ringer)) {
        ear->state = WS_EAR_HANGS;
        ws_fail(&ear->why, WS_OK, "the sound does not answer: the terminal bell rings instead");
    }
}

static int64_t hurry_ms(const struct ws_seat *seat, const struct ws_cue *cue)
{
    const struct ws_bath *bath = ws_session_bath(&seat->session, &seat->plan, cue->bath);

    switch (cue->kind) {
    case WS_CUE_OVERTIME:
        return HURRY_MS;
    case WS_CUE_POUR_OUT:
        if (!cue->wants_hand)
            return 0;
        return bath != NULL && ws_bath_may_run_long(bath) ? REMIND_MS : HURRY_MS;
    case WS_CUE_COME_BACK:
        return REMIND_MS;
    default:
        return 0;
    }
}

static int64_t again_ms(const struct ws_seat *seat, const struct ws_cue *cue)
{
    int64_t again = hurry_ms(seat, cue);

    return again > 0 && seat->alone ? ALONE_MS : again;
}

static void add(struct ws_ring_list *list, const struct ws_seat *seat, const struct ws_cue *cue,
                int64_t again)
{
    struct ws_ring_item *item = &list->item[list->items];

    if (list->items == WS_RING_ITEMS)
        return;
    item->cue = *cue;
    item->due_ns = ws_seat_ns(seat, cue->due_ms);
    item->until_ns = ws_seat_ns(seat, cue->until_ms);
    item->again_ns = again * WS_NS_IN_MS;
    item->standing = false;
    ws_speak_cue(seat, cue, &item->saying);
    list->items++;
}

/* What is asked now and not answered, as a cue that fell due when it was asked for; gives how often
 * it is repeated, 0: nothing stands. */
static int64_t standing_cue(const struct ws_seat *seat, const struct ws_view *view,
                            struct ws_cue *cue)
{
    *cue = (struct ws_cue){ .bath = view->bath,
                            .index = -1,
                            .due_ms = view->asked_ms,
                            .until_ms = WS_NEVER,
                            .wants_hand = view->wants_hand };
    if (!view->wants_hand || view->asked_ms == WS_NEVER)
        return 0;
    if (view->stage == WS_STAGE_DRAINING) {
        cue->kind = seat->session.said.overtime_for_ms == view->pour_out_ms ? WS_CUE_OVERTIME
                                                                            : WS_CUE_POUR_OUT;
    } else if (view->stop_now) {
        cue->kind = view->over_ms < seat->plan.insist_ms ? WS_CUE_POUR_IN : WS_CUE_OVERTIME;
    } else if (seat->session.come_back_waits) {
        cue->kind = WS_CUE_COME_BACK;
        cue->until_ms = seat->session.said.come_back_for_ms;
    } else {
        return 0;
    }
    if (cue->kind == WS_CUE_POUR_IN)
        return seat->alone ? ALONE_MS : HURRY_MS;
    return again_ms(seat, cue);
}

static void add_standing(struct ws_ring_list *list, const struct ws_seat *seat,
                         const struct ws_view *view)
{
    struct ws_cue cue;
    int64_t again = standing_cue(seat, view, &cue);

    if (again == 0)
        return;
    add(list, seat, &cue, again);
    list->item[list->items - 1].standing = true;
}

/* Whether a cue that was said is still what is asked for: a press answers it, a moved end takes it
 * back. */
static bool stands(const struct ws_seat *seat, const struct ws_view *view, const struct ws_cue *cue)
{
    if (cue->kind == WS_CUE_COME_BACK)
        return seat->session.come_back_waits;
    return cue->bath == view->bath && (view->stage == WS_STAGE_DRAINING || view->stop_now);
}

static void add_said(struct ws_ring_list *list, const struct ws_seat *seat,
                     const struct ws_view *view, int64_t now_ms)
{
    for (int i = 0; i < seat->saids; i++) {
        const struct ws_cue *cue = &seat->said[i];
        int64_t again = stands(seat, view, cue) ? again_ms(seat, cue) : 0;

        /* What is repeated until it is answered is due now, however long ago it fell due: it is
         * heard even after a sleep. */
        if (!cue->late && (again > 0 || now_ms - cue->due_ms <= seat->plan.late_ms + JUST_SAID_MS))
            add(list, seat, cue, again);
    }
}

/* The sound repeats what came last, on the grid of its own due. */
uint32_t ws_seat_repeats(const struct ws_seat *seat, const struct ws_view *view)
{
    struct ws_cue last;
    int64_t again = standing_cue(seat, view, &last), until_ms = view->at_ms;

    for (int i = 0; i < seat->saids; i++) {
        const struct ws_cue *cue = &seat->said[i];

        if (stands(seat, view, cue) && again_ms(seat, cue) > 0 &&
            (again == 0 || cue->due_ms >= last.due_ms)) {
            last = *cue;
            again = again_ms(seat, cue);
        }
    }
    if (again == 0 || view->at_ms < last.due_ms)
        return 0;
    if (last.until_ms != WS_NEVER && until_ms >= last.until_ms)
        until_ms = last.until_ms - 1;
    return (uint32_t)((until_ms - last.due_ms) / again);
}

/* Cues of the coming minute. Returns up to when they are told, run time. */
static int64_t add_ahead(struct ws_ring_list *list, const struct ws_seat *seat, int64_t now_ms)
{
    struct ws_cue cue[WS_RING_ITEMS];
    int room = WS_RING_ITEMS - list->items;
    int n = ws_session_ahead(&seat->session, &seat->plan, now_ms + WS_AHEAD_MS, false, cue, room);

    for (int i = 0; i < n; i++)
        add(list, seat, &cue[i], again_ms(seat, &cue[i]));
    ws_speak_between(seat, now_ms, now_ms + WS_AHEAD_MS, list);
    ws_speak_ready(seat, now_ms, list);
    return n == room ? cue[n - 1].due_ms : now_ms + WS_AHEAD_MS;
}

void ws_seat_tell_sound(struct ws_drive *drive, struct ws_seat *seat)
{
    struct ws_ring_list list = { .items = 0,
                                 .serial = seat->serial,
                                 .hush = seat->hush,
                                 .late_ns = seat->plan.late_ms * WS_NS_IN_MS };
    int64_t now_ms = ws_seat_ms(seat, &drive->now), to_ms;
    struct ws_view view;

    seat->moved = false;
    seat->hush = false;
    seat->ahead_next_ns = INT64_MAX;
    if (!seat->session.closed && !seat->held) {
        ws_session_view(&seat->session, &seat->plan, now_ms, &view);
        list.several = ws_speak_several(drive);
        ws_speak_film(&seat->plan, list.film);
        add_said(&list, seat, &view, now_ms);
        add_standing(&list, seat, &view);
        to_ms = add_ahead(&list, seat, now_ms);
        /* Told again when half of it is over: nothing is ever told at the last moment. */
        seat->ahead_next_ns = ws_seat_ns(seat, now_ms + (to_ms - now_ms) / 2 + 1);
    }
    ws_ringer_hand(drive->ringer, seat->tank, &list);
}
