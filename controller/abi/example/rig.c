/*
 * The smallest rig: a car that moves off on an invented straight road, the two clutches commanded every 5 ms.
 *
 * CAUTION. A reference implementation, not certified, not for road use without a functional-safety process of your own.
 */
#include "couplet.h"

#include <stdio.h>
#include <string.h>

static _Alignas(COUPLET_MEMORY_ALIGNMENT) unsigned char memory[COUPLET_MEMORY_BYTES];

static couplet_reading fresh(float value)
{
    couplet_reading reading = {value, 0, 1};
    return reading;
}

int main(void)
{
    couplet_law *law = (couplet_law *)memory;
    couplet_page page;
    couplet_refusal refusal;
    couplet_page_default(&page);
    page.setting_agility = 0.7f;
    couplet_status status = couplet_init(law, sizeof memory, COUPLET_LAYOUT, &page, 5000, &refusal);
    if (status != COUPLET_OK) {
        fprintf(stderr, "%s: %s %s\n", couplet_status_text(status), refusal.name, refusal.message);
        return 1;
    }
    couplet_set_temperature(law, 40.0f); /* a car calls couplet_wake with its two stored records */
    for (int step = 0; step <= 400; step++) {
        float speed_m_s = 0.01f * (float)step, wheel_rad_s = speed_m_s / 0.32f;
        couplet_inputs inputs;
        couplet_outputs outputs;
        memset(&inputs, 0, sizeof inputs); /* what is not told is not known */
        inputs.wheel_speed_front_left = fresh(wheel_rad_s);
        inputs.wheel_speed_front_right = fresh(wheel_rad_s);
        inputs.wheel_speed_rear_left = fresh(wheel_rad_s);
        inputs.wheel_speed_rear_right = fresh(wheel_rad_s);
        inputs.yaw_rate = fresh(0.0f);
        inputs.lateral_acceleration = fresh(0.0f);
        inputs.longitudinal_acceleration = fresh(2.0f);
        inputs.steering_wheel_angle = fresh(0.0f);
        inputs.accelerator_pedal = fresh(0.6f);
        inputs.brake_pressure = fresh(0.0f);
        inputs.carrier_torque = fresh(1200.0f);
        inputs.carrier_torque_wanted = fresh(1200.0f);
        inputs.gear = fresh(1.0f);
        inputs.ambient_temperature = fresh(20.0f);
        inputs.rear_torque_cap = fresh(20000.0f);
        inputs.yaw_moment_cap = fresh(40000.0f);
        inputs.open_now = fresh(0.0f);
        inputs.anti_lock_active = fresh(0.0f);
        inputs.stability_active = fresh(0.0f);
        status = couplet_step(law, &inputs, &outputs);
        if (status != COUPLET_OK) {
            fprintf(stderr, "step %d: %s: open both clutches\n", step, couplet_status_text(status));
            return 1;
        }
        if (step % 100 == 0) {
            printf("%.2f s: capacity %.0f %.0f N m, current %.3f %.3f A, limit left %s\n", 0.005 * step,
                   (double)outputs.capacity_left, (double)outputs.capacity_right, (double)outputs.current_left,
                   (double)outputs.current_right, couplet_limit_name(outputs.limit_left));
        }
    }
    return 0;
}
