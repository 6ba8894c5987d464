/* The calls of libasound, loaded when sound is first opened: the program starts without the library
 * and runs where there is none. Only for builds with its headers (WS_ALSA). */
#ifndef WETSIDE_SRC_PORT_ALSA_LIB_H
#define WETSIDE_SRC_PORT_ALSA_LIB_H

#include <alsa/asoundlib.h>

#include "wetside/calc/status.h"

#define WS_ALSA_CALLS(X)                                                                           \
    X(snd_lib_error_set_handler)                                                                   \
    X(snd_config_update_free_global)                                                               \
    X(snd_strerror)                                                                                \
    X(snd_pcm_open)                                                                                \
    X(snd_pcm_close)                                                                               \
    X(snd_pcm_hw_params_malloc)                                                                    \
    X(snd_pcm_hw_params_free)                                                                      \
    X(snd_pcm_hw_params_any)                                                                       \
    X(snd_pcm_hw_params_set_access)                                                                \
    X(snd_pcm_hw_params_set_format)                                                                \
    X(snd_pcm_hw_params_set_channels)                                                              \
    X(snd_pcm_hw_params_set_rate)                                                                  \
    X(snd_pcm_hw_params_set_period_time_near)                                                      \
    X(snd_pcm_hw_params_set_buffer_time_near)                                                      \
    X(snd_pcm_hw_params)                                                                           \
    X(snd_pcm_get_params)                                                                          \
    X(snd_pcm_sw_params_malloc)                                                                    \
    X(snd_pcm_sw_params_free)                                                                      \
    X(snd_pcm_sw_params_current)                                                                   \
    X(snd_pcm_sw_params_set_start_threshold)                                                       \
    X(snd_pcm_sw_params_set_stop_threshold)                                                        \
    X(snd_pcm_sw_params_set_avail_min)                                                             \
    X(snd_pcm_sw_params_get_boundary)                                                              \
    X(snd_pcm_sw_params)                                                                           \
    X(snd_pcm_prepare)                                                                             \
    X(snd_pcm_start)                                                                               \
    X(snd_pcm_drop)                                                                                \
    X(snd_pcm_avail)                                                                               \
    X(snd_pcm_delay)                                                                               \
    X(snd_pcm_writei)                                                                              \
    X(snd_pcm_poll_descriptors_count)                                                              \
    X(snd_pcm_poll_descriptors)                                                                    \
    X(snd_pcm_poll_descriptors_revents)

struct ws_alsa_lib {
#define WS_ALSA_MEMBER(name) __typeof__(&(name)) name;
    WS_ALSA_CALLS(WS_ALSA_MEMBER)
#undef WS_ALSA_MEMBER
};

/* Loads the library, once for the process; it stays. Its own messages are silenced. WS_NOT_FOUND:
 * there is none, or it lacks a call; `why` says so. From any thread. */
enum ws_status ws_alsa_lib_load(const struct ws_alsa_lib **out, struct ws_message *why);

#endif
